"""A property that is worked out once for an instance, as `functools` has it, without its lock.

Up to Python 3.11 all instances of a class share that lock: while one job's findings are worked out
for ten seconds, every other job's wait, and two properties that ask for each other's in two threads
wait for ever. Here two threads may work out the same at the same time, as from Python 3.12 on.
"""

from __future__ import annotations

import functools
from typing import Any, Self, TypeVar, overload

T_co = TypeVar("T_co", covariant=True)


class cached_property(functools.cached_property[T_co]):  # noqa: N801, TID251 - as functools
    """See the module."""

    @overload
    def __get__(self, instance: None, owner: type[Any] | None = None) -> Self: ...

    @overload
    def __get__(self, instance: object, owner: type[Any] | None = None) -> T_co: ...

    def __get__(self, instance: object | None, owner: type[Any] | None = None) -> Self | T_co:
        """The value; kept with the instance, where it is found before this is asked again."""
        if instance is None:
            return self
        assert self.attrname is not None
        kept, name = instance.__dict__, self.attrname
        if name not in kept:
            kept[name] = self.func(instance)
        value: T_co = kept[name]
        return value
