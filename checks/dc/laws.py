"""The laws of one situation: each device that is no plain resistance, and the nodes that it lies between."""

from __future__ import annotations

from functools import cached_property
from itertools import compress
from typing import TYPE_CHECKING

from ...lang.circuit.ids import source_of
from ...lang.records import dataclass
from .device_models import Curve, DeviceBank
from .situation import Running

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    Places = NDArray[np.intp]


@dataclass(frozen=True)
class Laws:
    """The laws of one situation, by branch key or source name, and the kept nodes that each lies between."""

    keys: tuple[str, ...]
    bank: DeviceBank
    top_list: list[int]
    bottom_list: list[int]
    curves: tuple[Curve, ...] = ()

    @cached_property
    def tops(self) -> Places:
        import numpy as np

        return np.array(self.top_list, dtype=np.intp)

    @cached_property
    def bottoms(self) -> Places:
        import numpy as np

        return np.array(self.bottom_list, dtype=np.intp)

    @property
    def pairs(self) -> Iterator[tuple[int, int]]:
        """The two nodes that each law lies between."""
        return zip(self.top_list, self.bottom_list, strict=True)

    @cached_property
    def place(self) -> dict[str, int]:
        return {key: i for i, key in enumerate(self.keys)}

    def chosen(self, places: Sequence[int]) -> Laws:
        """Some of these, by their places in rising order."""
        import numpy as np

        if len(places) == len(self.keys):
            return self
        at = np.array(places, dtype=np.intp)
        is_there = np.zeros(len(self.keys), dtype=bool)
        is_there[at] = True
        flags = is_there.tolist()  # in rising order, as places are: of a large harness they are picked again and again
        keys, curves = tuple(compress(self.keys, flags)), tuple(compress(self.curves, flags))
        tops, bottoms = list(compress(self.top_list, flags)), list(compress(self.bottom_list, flags))
        return Laws(keys, self.bank.chosen(at), tops, bottoms, curves)

    def running(self, machines: Sequence[Running], regulated: Mapping[str, float]) -> Laws:
        """The same with machines held at other volts than the regulated ones."""
        import numpy as np

        along = np.zeros(len(self.keys))
        for machine in machines:
            along[self.place[source_of(machine.supply)]] = machine.volts - regulated[machine.supply]
        if not along.any():
            return self
        curves = tuple(curve.moved(float(by)) if by else curve for curve, by in zip(self.curves, along, strict=True))
        changed = Laws(self.keys, self.bank.moved(along), self.top_list, self.bottom_list, curves)
        changed.__dict__.update(tops=self.tops, bottoms=self.bottoms, place=self.place)
        return changed
