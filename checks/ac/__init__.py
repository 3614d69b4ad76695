"""Alternating windings: what they give, and what is connected to them, solved as what repeats with every turn.

``coils`` windings as numbers; ``wound`` a network with such coils, and what it does over one period; ``phasors`` the
quick way where nothing bends within the period; ``time_steps`` the general one; ``rectified`` tables of rectifiers into
a battery; ``stator_leads`` and ``lamps_on_windings`` what joins and ratings alone tell.
"""
