"""The smallest set of rules that can't all be met, whatever a setting is."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from itertools import combinations

__all__ = ["smallest_conflict"]


def smallest_conflict(
    broken: Iterable[Collection[str]], rules: Collection[str]
) -> tuple[str, ...]:
    """Find the fewest rules of which one at least is broken each time.

    `broken` are the rules broken by each value of a setting, by their ids. Where a
    value breaks none, there is no conflict. Of several smallest sets it is the one
    whose rules come first among all `rules`.

    >>> smallest_conflict([["low"], ["low", "x"], ["high", "x"]], ["high", "low", "x"])
    ('high', 'low')
    >>> smallest_conflict([["low"], []], ["low"])
    ()
    """
    sets = set(map(frozenset, broken))
    # Where a set holds another one, whatever meets the other meets it as well.
    needed = [each for each in sets if not any(other < each for other in sets)]
    for size in range(1, len(needed) + 1):
        for chosen in combinations(rules, size):
            if all(not each.isdisjoint(chosen) for each in needed):
                return chosen
    return ()
