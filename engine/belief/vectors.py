"""Flat lists of numbers over several indices, the last of which runs fastest."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import reduce
from itertools import accumulate
from operator import mul

Vector = list[float]


def times(one: Vector, other: Vector) -> Vector:
    """Entry by entry."""
    return list(map(mul, one, other))


def product(first: Vector, rest: Iterable[Vector]) -> Vector:
    """All of them entry by entry, from the left."""
    return reduce(times, rest, first)


def folded(vector: Vector, width: int) -> Vector:
    """Sums of each run of `width` entries: the last index is summed out."""
    if width == 1:
        return vector
    if width == 3:
        return [a + b + c for a, b, c in zip(vector[0::3], vector[1::3], vector[2::3], strict=True)]
    return list(map(sum, zip(*(vector[i::width] for i in range(width)), strict=True)))


def repeated(vector: Vector, width: int) -> Vector:
    """Each entry `width` times over: a last index that nothing depends on."""
    return [value for value in vector for _ in range(width)]


def all_but_one(start: Vector, vectors: Sequence[Vector]) -> list[Vector]:
    """`start` times all of `vectors` but one: without each in turn."""
    before = list(accumulate(vectors[:-1], times, initial=start)) if vectors else []
    after = list(accumulate(reversed(vectors[1:]), times))[::-1]
    return [*map(times, before, after), *before[-1:]]
