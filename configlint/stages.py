"""Rules that tell what faults of other rules come to, and which faults hide together.

The effect of a rule counts the fault of another rule where its formula reads all that
the other would change. A rule that tells of no fault of its own is a net, such as the
gain of the chain from the sensor to the receiver's reading; the rules that it counts
are its stages. Nets that share a stage which is broken stand for one group of faults,
since correcting the stages of one alone would uncover the error of another.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import NamedTuple

from configlint.rules import MeterRule, RuleBook

__all__ = ["Group", "LeftOut", "counted_by", "groups_of", "stood_by"]


class Group(NamedTuple):
    """Broken nets that share broken stages, and those stages, in the book's order."""

    nets: tuple[MeterRule, ...]
    stages: tuple[MeterRule, ...]

    @property
    def members(self) -> frozenset[str]:
        """The ids of all of them."""
        return frozenset(each.id for each in (*self.nets, *self.stages))


class LeftOut(NamedTuple):
    """A net that does not count for a setting, since other faults stand behind it.

    It tells what `faults` come to, by their rules: this setting could only make up
    for them.
    """

    rule: str
    faults: tuple[str, ...]


def counted_by(book: RuleBook, rule: MeterRule) -> tuple[MeterRule, ...]:
    """Give the rules whose faults the effect of a rule counts, but for itself.

    >>> from configlint.data import data_folder
    >>> from configlint.rule_book import load_rule_book
    >>> book = load_rule_book(data_folder("rules"))
    >>> by_id = {each.id: each for each in book.meter_rules}
    >>> stages = counted_by(book, by_id["chain-gain-is-one"])
    >>> "size-agrees" in [each.id for each in stages]
    True
    """
    read = frozenset(book.below(rule.effect_reads))
    return tuple(
        each
        for each in book.meter_rules
        if each.effect is not None
        and each is not rule
        and not each.is_net
        and each.settings
        and read.issuperset(each.settings)
    )


def groups_of(book: RuleBook, broken: Collection[str]) -> tuple[Group, ...]:
    """Join the broken nets that share a broken stage to groups.

    >>> from configlint.data import data_folder
    >>> from configlint.rule_book import load_rule_book
    >>> book = load_rule_book(data_folder("rules"))
    >>> broken = ("chain-gain-is-one", "receiver-scale-agrees", "size-agrees")
    >>> [[rule.id for rule in group.stages] for group in groups_of(book, broken)]
    [['receiver-scale-agrees', 'size-agrees']]
    """
    groups: list[Group] = []
    for net in book.meter_rules:
        if net.is_net and net.id in broken:
            stages = {one.id for one in counted_by(book, net) if one.id in broken}
            sharing = [each for each in groups if stages & each.members]
            nets = [other for each in sharing for other in each.nets]
            stages.update(one.id for each in sharing for one in each.stages)
            joined = tuple(each for each in book.meter_rules if each.id in stages)
            groups = [each for each in groups if each not in sharing]
            groups.append(Group((*nets, net), joined))
    return tuple(groups)


def stood_by(book: RuleBook, path: str, broken: Collection[str]) -> Iterator[LeftOut]:
    """Give the nets behind which other faults than a setting's stand, with those.

    The setting is one that a stage of the net would change. While the others stand,
    such a net can't be met by it, or only by a value that makes up for them.

    >>> from configlint.data import data_folder
    >>> from configlint.rule_book import load_rule_book
    >>> book = load_rule_book(data_folder("rules"))
    >>> broken = ["receiver-scale-agrees"]
    >>> [each.rule for each in stood_by(book, "transmitter.nominal_size", broken)]
    ['chain-gain-is-one']
    """
    for net in book.meter_rules:
        if net.is_net:
            stages = counted_by(book, net)
            others = [each for each in stages if path not in each.settings]
            standing = tuple(each.id for each in others if each.id in broken)
            if standing and len(others) < len(stages):
                yield LeftOut(net.id, standing)
