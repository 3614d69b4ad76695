"""The volts of one net by chords and halvings: to the last bit what halvings alone give."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.dc.device_models import Curve, diode, lamp, led, resistor, saturating
from loomwright.checks.logic import balances

MOST = 12.6

curves = st.one_of(
    st.floats(0.1, 1e4).map(resistor),
    st.sampled_from((1.2, 5.0, 21.0, 55.0)).map(lambda watts: lamp(watts, 13.5)),
    st.floats(0.1, 10.0).map(lambda amps: saturating(amps, 12.0, 0.6)),
    st.floats(0.01, 1.0).map(lambda amps: led(amps, 12.0, 0.4, 0.8)),
    st.just(diode(0.7, 0.01)),
)
volts = st.one_of(st.sampled_from((0.0, MOST)), st.floats(0.0, MOST))


def halved(beside: Sequence[tuple[Curve, float, bool]], was: float, *, rising: bool) -> float:
    """Bisection of the sum of the currents, plainly."""

    def goes(at: float) -> float:
        return sum(curve.amps(at - far) if out else -curve.amps(far - at) for curve, far, out in beside)

    low, high = (was, MOST) if rising else (0.0, was)
    if goes(low) >= 0.0 or goes(high) <= 0.0:
        return low if goes(low) >= 0.0 else high
    for _ in range(balances.HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if goes(middle) > 0.0 else (middle, high)
    return low if rising else high


@given(st.lists(st.tuples(curves, volts, st.booleans()), min_size=1, max_size=6), volts, st.booleans())
def test_chords_change_nothing_but_the_work(beside: list[tuple[Curve, float, bool]], was: float, rising: bool) -> None:
    assert balances._balance(beside, was, MOST, rising=rising) == halved(beside, was, rising=rising)


def test_a_chain_of_resistors_is_balanced_by_hand_or_given_up_with_its_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three of 10 ohm from 12.6 V to 0 V part it in thirds; what takes too many steps gets no answer, and says so."""
    chain = [(resistor(10.0), balances.PLUS, 0), (resistor(10.0), 0, 1), (resistor(10.0), 1, balances.MINUS)]
    nets, steps = balances.balanced(chain, MOST, rising=False)
    assert nets == pytest.approx({0: 8.4, 1: 4.2}, abs=1e-2)
    assert steps > 2
    monkeypatch.setattr(balances, "MOST_STEPS", steps - 1)
    assert balances.balanced(chain, MOST, rising=False) == (None, steps)
    monkeypatch.setattr(balances, "MOST_SWEEPS", 1)
    assert balances.balanced(chain, MOST, rising=False) == (None, 2)
