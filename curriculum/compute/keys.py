"""A dichotomous key to any set of accounts.

Definition: a tree of couplets (see `couplets`) that ends in leaves; couplets that are reached with the same taxa are
one and the same. It goes on until no couplet parts two of the taxa that remain.
Soundness: no specimen that an account admits, at whatever stage, ends at a leaf that omits its taxon.
Agreement with `separation`: a settled or thin pair shares no leaf; no couplet parts an unsettled pair.
Choice: the least expected cost Σ w·Σ c, where w is the chance of meeting a taxon times a weight for its danger and c is
effort times unreliability; greedy, on c·W + c'·(W' log W' - Σ w log w) summed over the leads (c' the cheapest couplet
there is), with one step of look-ahead over the three best; ties by the name of the character. Source: our rule, in the
line of J. C. Gower and R. W. Payne, Biometrika 62 (1975) 665, and M. J. Dallwitz, Systematic Zoology 23 (1974) 50, both
recalled and not read. Weights and costs are our rule.
It must not be taken for leave to eat: a leaf names what a specimen may be among the accounts, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import log2

from curriculum.compute.account import ALL, Account, Value
from curriculum.compute.couplets import Reading, Split, Test, bits, follows, splits, tests
from curriculum.compute.separation import values_at, visible
from curriculum.compute.vocabulary import Character, Vocabulary

EFFORT_COST: Mapping[str, float] = {"glance": 1, "hand": 2, "cut": 4}
UNRELIABILITY: Mapping[str, float] = {"steady": 1, "varies": 1.5, "unreliable": 3}
DANGER_WEIGHT: Mapping[str, float] = {"poisonous": 2, "deadly": 4}
BREADTH = 3


@dataclass(frozen=True, slots=True)
class Lead:
    """One of the two statements of a couplet, and where it leads: a couplet's number, or the taxa of a leaf."""

    test: Test
    to: int | tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Couplet:
    """Two leads about one character. `taxa` is what is still possible here."""

    number: int
    character: str
    taxa: tuple[str, ...]
    leads: tuple[Lead, Lead]


@dataclass(frozen=True, slots=True)
class Key:
    """A key; couplets are numbered from 1 in reading order. Without couplets everything remains."""

    taxa: tuple[str, ...]
    couplets: tuple[Couplet, ...]

    @property
    def leaves(self) -> frozenset[tuple[str, ...]]:
        """The ends of the key: sets of taxa."""
        ends = (lead.to for one in self.couplets for lead in one.leads if isinstance(lead.to, tuple))
        return frozenset(ends) or frozenset([self.taxa])

    def ends(self, specimen: Mapping[str, Reading]) -> frozenset[tuple[str, ...]]:
        """Every leaf that a specimen can reach; what is not among its readings cannot be seen on it."""
        found: set[tuple[str, ...]] = set()
        waiting: list[int | tuple[str, ...]] = [1 if self.couplets else self.taxa]
        while waiting:
            here = waiting.pop()
            if isinstance(here, tuple):
                found.add(here)
                continue
            one, other = self.couplets[here - 1].leads
            seen = specimen.get(self.couplets[here - 1].character)
            waiting += [one.to] if follows(one.test, other.test, seen) else []
            waiting += [other.to] if follows(other.test, one.test, seen) else []
        return frozenset(found)

    def mean_length(self) -> float:
        """Couplets to a leaf, the mean over the taxa."""
        return sum(self.length_of(taxon) for taxon in self.taxa) / len(self.taxa)

    def length_of(self, taxon: str) -> float:
        """Couplets from the first to a leaf with the taxon; where it goes down both leads each counts half."""
        return self._length(taxon, 1 if self.couplets else self.taxa, {})

    def _length(self, taxon: str, here: int | tuple[str, ...], known: dict[int, float]) -> float:
        if isinstance(here, tuple):
            return 0.0
        if here not in known:
            ways = [lead.to for lead in self.couplets[here - 1].leads if taxon in self._taxa_at(lead.to)]
            known[here] = 1 + sum(self._length(taxon, way, known) for way in ways) / len(ways)
        return known[here]

    def _taxa_at(self, here: int | tuple[str, ...]) -> tuple[str, ...]:
        return here if isinstance(here, tuple) else self.couplets[here - 1].taxa


def cost(character: Character) -> float:
    """What it costs to look at a character: effort times unreliability, 1 being a glance at a steady one."""
    return EFFORT_COST[character.effort] * UNRELIABILITY[character.reliability]


def make_key(accounts: Iterable[Account], vocabulary: Vocabulary, chance: Mapping[str, float] | None = None) -> Key:
    """The key to accounts of one group. `chance` of meeting each taxon, in any unit; all alike where it is not given.

    ValueError where the accounts are of several groups: what tells a plant from a fungus is no character.
    """
    chosen = sorted(accounts, key=lambda one: one.taxon)
    groups = {one.group for one in chosen}
    if len(groups) > 1:
        raise ValueError(f"No key was made: one group at a time, and these are of {', '.join(sorted(groups))}.")
    characters = [one for one in vocabulary.characters.values() if visible(one) and groups <= one.groups]
    values = {one.taxon: values_at(one, ALL, characters) for one in chosen}
    weights = [(chance or {}).get(one.taxon, 1.0) * DANGER_WEIGHT.get(one.edibility, 1) for one in chosen]
    builder = _Builder(chosen, values, weights)
    return builder.key(splits(chosen, values, characters))


@dataclass(slots=True)
class _Builder:
    """Chooses the couplets. A node is the set of taxa still possible, as bits."""

    accounts: Sequence[Account]
    values: Mapping[str, Mapping[str, Value]]
    weights: Sequence[float]
    greedy: dict[int, tuple[float, list[Split]]] = field(default_factory=dict)
    entropies: dict[int, tuple[float, float]] = field(default_factory=dict)

    def key(self, every: Sequence[Split]) -> Key:
        """The whole key, couplets in the order in which a reader meets them."""
        root = (1 << len(self.accounts)) - 1
        chosen: dict[int, Split] = {}
        waiting = [(root, every)]
        while waiting:
            node, usable = waiting.pop()
            split, usable = self._choice(node, usable)
            if split is None or node in chosen:
                continue
            chosen[node] = split
            waiting += [(lead, usable) for lead in reversed(split.leads(node))]
        return Key(self._taxa(root), tuple(self._couplets(chosen)))

    def _couplets(self, chosen: Mapping[int, Split]) -> Iterator[Couplet]:
        numbers = {node: number for number, node in enumerate(chosen, start=1)}
        for node, split in chosen.items():
            column = [self.values[one.taxon][split.character.key] for one in self.accounts]
            ways = [numbers.get(lead, self._taxa(lead)) for lead in split.leads(node)]
            first, second = (Lead(test, to) for test, to in zip(tests(split, node, column), ways, strict=True))
            yield Couplet(numbers[node], split.character.key, self._taxa(node), (first, second))

    def _choice(self, node: int, usable: Sequence[Split]) -> tuple[Split | None, list[Split]]:
        """The best couplet at a node, and those that can still part any two of its taxa."""
        _, ranked = self._ranked(node, usable)
        best = min(ranked[:BREADTH], key=lambda one: (self._ahead(one, node, ranked), one.character.key), default=None)
        return best, ranked

    def _ahead(self, split: Split, node: int, usable: Sequence[Split]) -> float:
        """Cost of the couplet and of the best that can follow in each lead."""
        below = sum(self._ranked(lead, usable)[0] for lead in split.leads(node))
        return round(cost(split.character) * self._weight(node)[0] + below, 9)

    def _ranked(self, node: int, usable: Sequence[Split]) -> tuple[float, list[Split]]:
        """The least estimated cost from a node on, and the couplets usable there, best first."""
        if node not in self.greedy:
            parting = [one for one in usable if one.parts(node)]
            cheapest = min((cost(one.character) for one in parting), default=0.0)
            scored = [(self._score(one, node, cheapest), one.character.key, place) for place, one in enumerate(parting)]
            scored.sort()
            best = scored[0][0] if scored else 0.0
            self.greedy[node] = best, [parting[place] for _, _, place in scored]
        return self.greedy[node]

    def _score(self, split: Split, node: int, cheapest: float) -> float:
        rest = sum(self._unsorted(lead) for lead in split.leads(node))
        return round(cost(split.character) * self._weight(node)[0] + cheapest * rest, 9)

    def _unsorted(self, node: int) -> float:
        """Σ w log2(W / w): what an ideal key would still cost if every couplet cost 1."""
        total, plogp = self._weight(node)
        return total * log2(total) - plogp if total else 0.0

    def _weight(self, node: int) -> tuple[float, float]:
        if node not in self.entropies:
            found = [self.weights[place] for place in bits(node)]
            self.entropies[node] = sum(found), sum(one * log2(one) for one in found if one)
        return self.entropies[node]

    def _taxa(self, node: int) -> tuple[str, ...]:
        return tuple(self.accounts[place].taxon for place in bits(node))
