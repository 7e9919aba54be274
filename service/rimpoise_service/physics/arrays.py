"""Arrays by what they hold, and dataclasses of equally long ones."""

from __future__ import annotations

from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

TINY = float(np.finfo(float).tiny)
"""The least number that can be divided by without losing digits, in place of 0."""


class Rows:
    """For a dataclass whose fields are arrays of equal length: its rows chosen by index or by mask, and joined."""

    __dataclass_fields__: dict[str, Any]

    @property
    def columns(self) -> tuple[NDArray[Any], ...]:
        """All arrays, in their order."""
        return tuple([getattr(self, name) for name in self.__dataclass_fields__])

    def __len__(self) -> int:
        return len(getattr(self, next(iter(self.__dataclass_fields__))))

    def __getitem__(self, index: Ints | Bools | list[int] | slice) -> Self:
        if isinstance(index, slice):
            return self._of([column[index] for column in self.columns])
        at = np.array(index, dtype=np.intp) if isinstance(index, list) else index
        rows = at.nonzero()[0] if at.dtype == bool else at
        return self._of([column.take(rows, axis=0) for column in self.columns])  # brackets take five times as long

    def and_more(self, *others: Self) -> Self:
        """These and the others."""
        every = zip(self.columns, *(other.columns for other in others), strict=True)
        return self._of([np.concatenate(columns) for columns in every])

    @classmethod
    def _of(cls, columns: list[NDArray[Any]]) -> Self:
        made: Any = cls
        rows: Self = made(*columns)
        return rows
