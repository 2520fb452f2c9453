"""What happened, told from journals: reports, trends, the bring-up sheet.

Reads a journal and retells it without computing: figures and verdicts are those recorded.
May import `coach.sprint` and `phases`. No screen, no exercise, nothing is written back but
late findings.
"""
