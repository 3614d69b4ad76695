"""Single faults: what happens when one conductor, contact or device fails, state by state.

``modes`` what can fail and how; ``plain`` one fault solved from the start; ``ports`` all of a state's at once;
``effects`` what that does to the machine; ``sweep`` puts them together. ``suspects`` goes the other way, from what is
seen (``observing`` reads it) to what may have failed; ``reasons`` tells why, ``measuring`` where the meter goes next,
``tolerance`` how far it may be off. Words as in MIL-STD-1629A: failure mode, end effect, severity category.
"""
