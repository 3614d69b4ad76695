"""How far a reading may be from what is predicted."""

FLOOR = 0.02
"""Of the system's volts (ours): a hand meter's half per cent and its last digits, and what a probe loses on a dirty
terminal. It counts where next to nothing is read.
"""

SHARE = 0.06
"""Of what is predicted (ours): a battery that is fuller or emptier than the file says, a lamp or a regulator at the end
of its own tolerance move all volts of a state in proportion, by that much in a bike that has nothing wrong.
"""


def tolerance(volts: float, nominal: float) -> float:
    """V by which a reading may differ from ``volts`` in a system of ``nominal`` V and still be as predicted."""
    return FLOOR * nominal + SHARE * abs(volts)
