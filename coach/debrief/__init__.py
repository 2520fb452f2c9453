"""What happened, told from journals: one sprint's account and its reports, trends over many, the
bring-up sheet.

Reads a journal and retells it without computing: figures and verdicts are those recorded.
May import `coach.sprint` and `phases`. No screen and no exercise; what is written back (readings,
late findings) goes by the commands of `coach.sprint`.
"""
