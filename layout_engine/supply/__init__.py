"""The supply of a board as a network: what flows where, at which voltage, for how long.

    wires.py        a connection as a conductor: length, size, ohms when hot, contacts
    elements.py     what is not a plain resistance: batteries, loads, converters, drivers, motors
    network.py      terminals as nodes, wires and paths as conductances; reduced once to its ports
    solving.py      Newton's method over all cases at once; proof that a solution is one
    cases.py        which current each load and motor takes: idle, the person's cases, typical,
                    peak, stalled
    running.py      running current of the drives from mass, slope, speed, gears and motors
    state.py        SupplyState: what solving gives (nodes, branches, losses, run time)
    study.py        every case of one job, solved once; what the rules ask
    grounds.py      what voltages are counted from
    joined.py       pieces of metal, what feeds what; ranges.py which volts a module stands;
                    speakers.py what hangs on an amplifier; ways.py the way of least resistance
    basis.py        whether a part's values were measured or guessed
    shares.py       what a current is made of: what each module draws, and its share that flows here
    worked.py       how voltages and sources' currents follow; the feed of an element, out and back
    battery.py      run time, charging time
    sag.py          what the pack loses inside, lowest voltage of control while motors are held fast
    switching_on.py what rushes into capacitors, and a pre-charge; charging.py  chargers and packs
    pushed.py       a machine that is pushed: EMF on the rails
    shorts.py       the current of a dead short at each module
    lost_return.py  each return opened in turn
    direction_finder.py  a machine that goes the wrong way: which wires to exchange
    what_if.py      a fuse, wire or contact blown, open or shorted

Nothing here chooses a wire or a fuse (layout_engine.sizing does); wires that nobody fixed get a
first size, said with it.
"""
