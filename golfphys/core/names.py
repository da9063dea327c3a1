"""What parameters are called, and where each stands in arrays of values: nobody else makes or reads their labels."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Columns = NDArray[np.int64]


class Key(NamedTuple):
    """What a parameter is, and the club, lie, spot, option, film or field of the turf that it is of, if of any.

    >>> Key("loft_error", "lob wedge").label, Key.read("attack")
    ('loft_error[lob wedge]', Key(name='attack', of=''))
    """

    name: str
    of: str = ""

    @property
    def label(self) -> str:
        """What it is called in tables."""
        return f"{self.name}[{self.of}]" if self.of else self.name

    @classmethod
    def read(cls, label: str) -> "Key":
        """Return the key that a table calls so."""
        name, _, of = label.partition("[")
        return cls(name, of[:-1])

    @property
    def words(self) -> str:
        """What it is called in sentences."""
        return f"{self.name} {self.of}".replace("_", " ").strip()


@dataclass(frozen=True)
class Names:
    """Parameters in their order, and where each stands in arrays (..., P) of their values.

    >>> names = Names((Key("attack"), Key("loft_error", "lob wedge"), Key("loft_error", "8-iron")))
    >>> names.column("loft_error", "8-iron"), names.columns("loft_error").tolist(), names.has("shaft_lean")
    (2, [1, 2], False)
    >>> names.values(np.array([0.1, 0.2, 0.3]), "loft_error", ("8-iron", "putter"))
    array([0.3, 0. ])
    """

    keys: tuple[Key, ...] = ()
    _found: dict[Any, Columns] = field(init=False, repr=False, compare=False, default_factory=dict)

    def __iter__(self) -> Iterator[Key]:
        """Go through what the parameters are."""
        return iter(self.keys)

    def __len__(self) -> int:
        """Return their number."""
        return len(self.keys)

    @cached_property
    def labels(self) -> list[str]:
        """What tables call them."""
        return [key.label for key in self.keys]

    @cached_property
    def _place(self) -> dict[tuple[str, str], int]:
        return {key: i for i, key in enumerate(self.keys)}

    def has(self, name: str, of: str = "") -> bool:
        """Whether a parameter is among them."""
        return (name, of) in self._place

    def column(self, name: str, of: str = "") -> int:
        """Where a parameter stands; KeyError if it is not among them."""
        return self._place[name, of]

    def columns(self, *names: str) -> Columns:
        """Where all parameters of these names stand, whatever they are of."""
        if names not in self._found:
            found = [i for i, key in enumerate(self.keys) if key.name in names]
            self._found[names] = np.array(found, dtype=np.int64)
        return self._found[names]

    def places(self, keys: Iterable[tuple[str, str]]) -> Columns:
        """Where parameters stand, in the order asked; KeyError if one is not among them."""
        return np.array([self._place[key] for key in keys], dtype=np.int64)

    def members(self, name: str) -> tuple[str, ...]:
        """What the parameters of a name are of."""
        return tuple(key.of for key in self.keys if key.name == name)

    def get(self, natural: Array, name: str, of: str = "", *, default: float = 0.0) -> Array:
        """Values of a parameter, shape (...), or `default` where there is none."""
        place = self._place.get((name, of))
        return np.full(natural.shape[:-1], default) if place is None else np.asarray(natural[..., place])

    def values(self, natural: Array, name: str, members: tuple[str, ...]) -> Array:
        """Values of a parameter of each of `members`, shape (..., members), 0 where there is none."""
        asked = (name, members)
        if asked not in self._found:
            self._found[asked] = np.array([self._place.get((name, of), -1) for of in members], dtype=np.int64)
        columns = self._found[asked]
        found = np.asarray(natural[..., columns])
        if (columns < 0).any():
            found[..., columns < 0] = 0.0
        return found

    def by_member(self, natural: Array, name: str) -> dict[str, Array]:
        """Values of all parameters of a name by what each is of, each of shape (...)."""
        return {self.keys[i].of: np.asarray(natural[..., i]) for i in self.columns(name)}


@dataclass(frozen=True)
class Sample:
    """Values of parameters, equally weighted: `natural` has shape (n, P)."""

    names: Names
    natural: Array

    def column(self, name: str, of: str = "") -> Array:
        """Values of one parameter, shape (n,)."""
        return np.asarray(self.natural[:, self.names.column(name, of)])

    def beside(self, keys: Iterable[Key], columns: Iterable[Array]) -> "Sample":
        """Return the same draws with further parameters, each of shape (n,)."""
        return Sample(
            Names((*self.names, *keys)), np.concatenate([self.natural, *(item[:, None] for item in columns)], axis=1)
        )
