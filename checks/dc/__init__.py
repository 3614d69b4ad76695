"""Numbers: volts, amps and watts of a harness standing still in one combination of its controls.

``laws`` how an element's current rises with its volts; ``network`` a circuit as conductances and such laws, its nodes
reduced; ``newton`` the one solver; ``settling`` relays, outputs and machines by their real volts; ``operating`` what
rules ask for.
"""
