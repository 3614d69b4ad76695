"""Single faults: what happens when one conductor, contact or device fails, state by state.

``failure_modes`` what can fail and how; ``shorts`` what a wire shorted to ground opens; ``stator_faults`` what fails in
stators and rectifiers; ``plain`` one fault solved from the start; ``multiport`` many at once while the same things
conduct, ``tangents``, ``departures`` and ``lots`` in a large harness each in the blocks that it moves, into which it
falls at its ``hubs``; ``faulted_circuit`` what is still joined, ``situations`` what conducts then, ``movers`` which
relays and units move, ``ignition`` what a kill wire stops and what gives no spark, ``watched`` what is missed though it
carries nothing; ``cases`` are faults on their way to rest, ``tuning`` solves many with their machines at once,
``propagation`` all that follows until everything is at rest, ``earlier`` and ``next_start`` what was there before the
start; ``effects`` what that does to the motorcycle, and ``faulted_state`` one state before and after, with an
``outcome`` for each fault; ``fault_simulation`` has all states, ``report`` failure modes with their end effects, and
``not_opened`` why there are none of the rest. The other way, from what is seen to what may have failed:
``checks.diagnosis``. Words as in MIL-STD-1629A: failure mode, end effect, severity category.
"""
