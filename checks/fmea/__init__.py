"""Single faults: what happens when one conductor, contact or device fails, state by state.

``modes`` what can fail and how; ``shorts`` what a wire on ground opens; ``plain`` one fault solved from the start;
``ports`` many at once while the same things conduct; ``wounded`` what is still joined; ``aftermath`` all that follows
until everything is at rest; ``effects`` what that does to the machine; ``sweep`` puts them together. ``suspects`` goes
the other way, from what is seen (``observing`` reads it) to what may have failed, a wire on ground too; ``reasons``
tells why, ``measuring`` where the meter goes next, ``tolerance`` how far it may be off. Words as in MIL-STD-1629A:
failure mode, end effect, severity category.
"""
