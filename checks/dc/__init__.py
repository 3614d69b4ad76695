"""Numbers: volts, amps and watts of a harness at rest in one combination of its controls.

``devices`` what a branch is in numbers, ``device_models`` how an element's current rises with its volts; ``topology``
where current can come from, ``machines`` what they need to give any; ``situation`` what conducts, with its ``laws``;
``nodal_equations`` a circuit as conductances and such laws, its nodes reduced (``kron_reduction``), large ones put
together by ``large_equations``; ``newton`` the one solver, ``newton_stack`` for many networks at once; ``flow`` what
comes out, with its ``connectivity``; ``relay_fixed_point`` relays, outputs and machines by their real volts.
"""
