"""Looms of any shape: places joined in trees and loops, and parts at them."""

from __future__ import annotations

from hypothesis import strategies as st


def loom_text(steps: list[tuple[int, int]], legs: list[int], loops: list[tuple[int, int, int]]) -> str:
    """Places connected to an earlier one each; wires from the first place to each; parts at places; routes that close
    loops, with a wire along each that is no detour.
    """
    count = len(steps) + 1
    lines = ['loom "random"', f"place {', '.join(f'p{n}' for n in range(count))}"]
    joined = {frozenset((number, back % number)) for number, (back, _) in enumerate(steps, 1)}
    lines += [f"route p{back % number} p{number} {cm / 100} m" for number, (back, cm) in enumerate(steps, 1)]
    lines += [f"splice S{n} at p{n}" for n in range(count)]
    lines += [f"wire w{n} S0 to S{n} red 1 mm2 9 m" for n in range(1, count)]
    lines += [f"switch T{n} at p{place % count} {{ a: 1 2 }}" for n, place in enumerate(legs)]
    lines += [f"wire l{n} S{place % count} to T{n}.1 red 1 mm2" for n, place in enumerate(legs)]
    for number, (a, b, cm) in enumerate(loops):
        a, b = a % count, b % count
        if a != b and frozenset((a, b)) not in joined:
            joined.add(frozenset((a, b)))
            lines += [f"route p{a} p{b} {cm / 100} m", f"wire c{number} S{a} to S{b} red 1 mm2 9 m"]
    return "\n".join(lines) + "\n"


LOOMS = st.builds(
    loom_text,
    st.lists(st.tuples(st.integers(0, 20), st.integers(3, 90)), min_size=1, max_size=9),
    st.lists(st.integers(0, 20), max_size=40),
    st.lists(st.tuples(st.integers(0, 20), st.integers(0, 20), st.integers(3, 200)), max_size=3),
)
