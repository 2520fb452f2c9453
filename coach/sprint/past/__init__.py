"""Sprints that are over or only looked at: read from their journals, retold, counted.

`sessions_folder` says where journals are, `glance` what a list shows of one, `read_sprint` reads
one whole and tolerates damage, `quick_reading` many of them; `retell` tells events in words,
`heeded` what came of calls, `habits` what a person keeps forgetting. Nothing here writes.
"""
