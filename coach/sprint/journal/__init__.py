"""The journal on the disk: bytes, blocks, checks, the lock.

`writing` makes its text, `reading` reads it and finds every fault, `file` appends to it and cuts
off a torn end, `sync` waits for the disk. Knows tables of plain values, and nothing of events.
"""
