"""Alternating windings: what they give, and what is connected to them, solved as what repeats with every turn.

``coils`` windings as numbers; ``wound`` a network with such coils, and what it does over one period; ``phasors``
the quick way where nothing bends within it; ``time_steps`` the general one; ``rectified`` tables of rectifiers into a
battery, and ``bridges`` how one stands on its stator. ``windings`` makes coils of what a text says; ``equations`` and
``wound_flow`` give the answers the form that direct current has.
"""
