"""Wires, fuses, contacts and heat, chosen and judged on top of the solved supply.

    board.py         Sizing(job): everything below, worked out when it is asked for
    choosing.py      the fixed point of sizes, ohms and currents; why it ends
    carrying.py      what a wire carries for good, and the cautious second figure
    heat_balance.py  temperature of one wire in still air, for wires under 18 AWG
    ways.py          ways of the current, and what the fuses on them let through
    drops.py         volts lost on a whole feed
    faults.py        shorts: current, fuse, time, energy, breaking capacity
    guarding.py      what each fuse guards, what none guards, how far the first one is
    contacts.py      terminals, paths and switches against their ratings
    stalls.py        a stall as a clock
    what_if.py       something broken on the sized board: what gets too hot, which fuse ends it
    results.py       what comes out, as data

Reads `layout_engine.supply.study.Study` and the tables. Nothing here words a finding: the rules do.
"""
