"""Wires, fuses, contacts and heat, chosen and judged on top of the solved supply.

Reads `layout_engine.supply.study.Study` (currents of every case, drops, prospective faults) and the
tables; gives each wire its size, each fuse its rating, each contact its verdict. A new choice of
sizes goes back into the study as `sizes`, until nothing changes any more.
"""
