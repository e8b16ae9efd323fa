"""The key to what a walk may meet: which accounts go into it, how it is shown, and what to ask next.

Definition (our rule). Of each group (fungi, plants, seaweeds) a key holds what the theme wants, in season or not, then
what else is taught and expected, likeliest first, then the expected dangers, deadly first, as long as it has no more
than `most` taxa. A taxon brings its dangerous lookalikes with it, and those of what the theme wants are never left out.
Weights: the chance that the walk meets a taxon; a danger without one counts as surely met, so that it is asked early.
It must not be taken for complete: what harms and was left out is named with every key.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from curriculum.compute.account import Account
from curriculum.compute.candidates import Answer, Candidates, Fallen, candidates
from curriculum.compute.comparison import disjoint
from curriculum.compute.expected import Expectation
from curriculum.compute.key_words import LeafNote, PrintedLead, leaf_note, printed
from curriculum.compute.keys import Key, cost, make_key
from curriculum.compute.phenology import OUT
from curriculum.compute.separation import HABITAT_GROUP, Verdict, visible
from curriculum.compute.value_words import measure
from curriculum.compute.vocabulary import Character
from curriculum.pairs import Contents, contents_of
from curriculum.queries import AccountInUse, dangerous_lookalikes, vocabulary
from walks.models import Walk
from walks.queries import expectation_of

GROUPS = {"fungi": "fungus", "plants": "plant", "seaweeds": "seaweed"}
"""The word in the address of a key, and the group of its accounts."""
MOST = 16
"""Taxa of a key, unless what is wanted and its lookalikes are more: the same on page and paper and by questions."""
MOST_COUPLETS = 60
"""Couplets that paper bears."""


@dataclass(frozen=True, slots=True)
class GroupKey:
    """The key to one group. `notes` holds what each taxon is not settled from, and what harms and is not in the key.

    `left_out`: taxa, and groups without an account, that harm and are not in the key. `passed_over`: taught there, and
    not in the key either.
    """

    group: str
    inside: Mapping[str, Account]
    key: Key
    leads: tuple[PrintedLead, ...]
    notes: Mapping[str, LeafNote]
    left_out: tuple[str, ...]
    passed_over: tuple[str, ...]

    @property
    def printable(self) -> bool:
        """Whether it is short enough for paper."""
        return len(self.key.couplets) <= MOST_COUPLETS


@dataclass(frozen=True, slots=True)
class Named:
    """A taxon as a key names it; of a group without an account only the name. `word`: its danger word, or empty."""

    name: str
    taxon: str = ""
    scientific: str = ""
    word: str = ""
    slug: str = ""

    @property
    def anchor(self) -> str:
        """Name of its sheet within the booklet."""
        return f"sheet-{self.taxon}"


@dataclass(frozen=True, slots=True)
class Ending:
    """What remains at an end, and the taxa of the key that are not, or by one kind of evidence alone, told from it.

    `outside`: what harms, was not in the key, and is not settled from what remains.
    """

    taxa: tuple[Named, ...]
    unsettled: tuple[Named, ...]
    thin: tuple[Named, ...]
    outside: tuple[Named, ...]


@dataclass(frozen=True, slots=True)
class ShownLead:
    """One lead: its words, and either the number to go to (0 for none) or the end."""

    says: str
    to: int
    ending: Ending | None


@dataclass(frozen=True, slots=True)
class ShownCouplet:
    """Two leads of one number; `back`: the couplets that lead here."""

    number: int
    back: tuple[int, ...]
    leads: tuple[ShownLead, ...]


@dataclass(frozen=True, slots=True)
class ShownKey:
    """A key as page and booklet show it. `ending` only where it has no couplet; `drafts`: accounts nobody signed."""

    address: str
    taxa: tuple[Named, ...]
    couplets: tuple[ShownCouplet, ...]
    ending: Ending | None
    left_out: tuple[Named, ...]
    passed_over: tuple[Named, ...]
    drafts: int
    demonstrations: int
    printable: bool


@dataclass(frozen=True, slots=True)
class ShownAnswer:
    """A question that was answered: its character, and the answer in words."""

    key: str
    label: str
    says: str


@dataclass(frozen=True, slots=True)
class ShownFallen:
    """A taxon that was ruled out, and the answers that ruled it out."""

    named: Named
    because: tuple[ShownAnswer, ...]
    beware: bool


@dataclass(frozen=True, slots=True)
class Step:
    """Where the answers lead. `question` is None at an end; `second_look`: it can rule out no more, only make surer."""

    answered: tuple[ShownAnswer, ...]
    remaining: tuple[Named, ...]
    fallen: tuple[ShownFallen, ...]
    question: Character | None
    second_look: bool
    ending: Ending | None
    outside: tuple[Named, ...]


def keys_of(walk: Walk, accounts: Mapping[str, AccountInUse], most: int = MOST) -> list[GroupKey]:
    """The keys of `walk`, one for each group of which something is taught. One query."""
    expected = expectation_of(walk, dict(accounts))
    contents = contents_of(accounts)
    return [key for group in GROUPS.values() if (key := _key_of(group, expected, accounts, contents, most))]


def _key_of(
    group: str, expected: Expectation, accounts: Mapping[str, AccountInUse], contents: Contents, most: int
) -> GroupKey | None:
    met = [one for one in expected.taught if one.account.group == group]
    absent = [one for one in expected.not_now if one.group == group]
    if not met and not absent:
        return None
    wanted = [*(one.account for one in met if one.wanted), *absent]
    others = sorted((one for one in met if not one.wanted), key=lambda one: -one.chance.mean)
    dangers = [one for one in expected.dangers if one.group == group]
    taxa = _chosen(wanted, [*(one.account for one in others), *dangers], accounts, most)
    chances = {one.taxon: OUT for one in absent} | {one.account.taxon: one.chance.mean for one in met}
    return _made(
        contents,
        group,
        tuple(sorted(taxa)),
        tuple(sorted((taxon, chances[taxon]) for taxon in taxa if taxon in chances)),
        tuple(one.taxon for one in dangers if one.taxon not in taxa),
        tuple(one.account.taxon for one in met if one.account.taxon not in taxa),
    )


def _chosen(
    wanted: Iterable[Account], more: Iterable[Account], accounts: Mapping[str, AccountInUse], most: int
) -> set[str]:
    """All that is wanted, and of the rest what fits, each with its dangerous lookalikes."""
    chosen: set[str] = set().union(*(_with_lookalikes(one, accounts) for one in wanted))
    for one in more:
        larger = chosen | _with_lookalikes(one, accounts)
        chosen = larger if len(larger) <= most else chosen
    return chosen


def _with_lookalikes(one: Account, accounts: Mapping[str, AccountInUse]) -> set[str]:
    feared = (other.account for other in dangerous_lookalikes(one, accounts))
    return {one.taxon, *(other.taxon for other in feared if other.group == one.group)}


@lru_cache(maxsize=128)
def _made(
    contents: Contents,
    group: str,
    taxa: tuple[str, ...],
    chances: tuple[tuple[str, float], ...],
    dangers: tuple[str, ...],
    passed_over: tuple[str, ...],
) -> GroupKey:
    """A key is computed once for each content of the curriculum."""
    inside = {taxon: contents.accounts[taxon] for taxon in taxa}
    key = make_key(inside.values(), vocabulary(), dict(chances))
    notes = {taxon: leaf_note((taxon,), inside, contents.accounts, vocabulary()) for taxon in taxa}
    outside = (name for note in notes.values() for name in note.outside)
    left_out = tuple(dict.fromkeys([*dangers, *outside]))
    harmless = tuple(taxon for taxon in passed_over if taxon not in left_out)
    return GroupKey(group, inside, key, printed(key, vocabulary()), notes, left_out, harmless)


class Names:
    """Taxa as keys name them. `slugs`: public id → slug, for links to the species pages."""

    def __init__(self, accounts: Mapping[str, AccountInUse], slugs: Mapping[str, str] | None = None) -> None:
        self.accounts, self.slugs = accounts, slugs or {}

    def of(self, keys: Iterable[str]) -> tuple[Named, ...]:
        """The taxa, worst first, then by name; what has no account is a group that harms, and comes after the deadly.

        No query.
        """
        return tuple(named for _, named in sorted((self._ranked(key) for key in keys), key=_worst_first))

    def _ranked(self, key: str) -> tuple[int, Named]:
        if key not in self.accounts:
            return min(one.rank for one in vocabulary().terms["edibility"].values() if one.danger), Named(key)
        use = self.accounts[key]
        term = vocabulary().terms["edibility"][use.account.edibility]
        slug = self.slugs.get(use.taxon.public_id, "")
        word = term.label if term.danger else ""
        named = Named(use.account.vernacular(), key, use.account.accepted_name, word, slug)
        return term.rank if term.danger else 0, named


def _worst_first(ranked: tuple[int, Named]) -> tuple[int, str]:
    rank, named = ranked
    return -rank, named.name


def shown(one: GroupKey, names: Names) -> ShownKey:
    """The key as page and booklet show it. No query."""
    uses = [names.accounts[taxon] for taxon in one.inside]
    kinds = [use.sign_off.kind if use.sign_off else "" for use in uses]
    return ShownKey(
        address=next(word for word, group in GROUPS.items() if group == one.group),
        taxa=names.of(one.inside),
        couplets=tuple(_couplets(one, names)),
        ending=None if one.key.couplets else ending_of(one, one.key.taxa, names),
        left_out=names.of(one.left_out),
        passed_over=names.of(one.passed_over),
        drafts=kinds.count(""),
        demonstrations=kinds.count("demonstration"),
        printable=one.printable,
    )


def _couplets(one: GroupKey, names: Names) -> Iterator[ShownCouplet]:
    for couplet in one.key.couplets:
        leads = [lead for lead in one.leads if lead.number == couplet.number]
        back = sorted({lead.number for lead in one.leads if lead.to == couplet.number})
        yield ShownCouplet(couplet.number, tuple(back), tuple(_lead(lead, one, names) for lead in leads))


def _lead(lead: PrintedLead, one: GroupKey, names: Names) -> ShownLead:
    if isinstance(lead.to, int):
        return ShownLead(lead.says, lead.to, None)
    return ShownLead(lead.says, 0, ending_of(one, lead.to, names))


def ending_of(one: GroupKey, taxa: Iterable[str], names: Names) -> Ending:
    """What an end says of the taxa that remain there. No query."""
    here = tuple(taxa)
    unsettled = _not_told(one, here, Verdict.UNSETTLED)
    thin = _not_told(one, here, Verdict.THIN) - unsettled
    outside = dict.fromkeys(name for taxon in here for name in one.notes[taxon].near)
    return Ending(names.of(here), names.of(unsettled), names.of(thin), names.of(outside))


def _not_told(one: GroupKey, here: tuple[str, ...], wanted: Verdict) -> set[str]:
    found = {other for taxon in here for _, other, verdict in one.notes[taxon].not_settled if verdict is wanted}
    return found - set(here)


def step_of(one: GroupKey, answers: Mapping[str, Answer | None], names: Names) -> Step:
    """Where `answers` lead, None being "cannot tell". No query.

    KeyError for a character or state that the vocabulary does not have.
    """
    given = {key: answer for key, answer in answers.items() if answer is not None}
    left = candidates(one.inside.values(), given, vocabulary())
    first = _next_question(one, left.remaining, answers)
    question = first or _second_look(one, left, answers)
    said = {key: _answer(key, answer) for key, answer in answers.items()}
    at_end = question is None and bool(left.remaining)
    outside = {name for taxon in left.remaining for name in one.notes[taxon].outside}
    return Step(
        answered=tuple(said.values()),
        remaining=names.of(left.remaining),
        fallen=tuple(_fallen(left.fallen, said, names)),
        question=question,
        second_look=first is None and question is not None,
        ending=ending_of(one, left.remaining, names) if at_end else None,
        outside=names.of(outside if left.remaining else one.left_out),
    )


def _next_question(one: GroupKey, remaining: Iterable[str], asked: Iterable[str]) -> Character | None:
    """The character of the first couplet of the key to what remains, without those that were asked."""
    taxa = [one.inside[taxon] for taxon in remaining]
    kept = {key: character for key, character in vocabulary().characters.items() if key not in set(asked)}
    couplets = make_key(taxa, replace(vocabulary(), characters=kept)).couplets
    return vocabulary().characters[couplets[0].character] if couplets else None


def _second_look(one: GroupKey, left: Candidates, asked: Iterable[str]) -> Character | None:
    """What best tells all that remains from the dangers that one kind of evidence alone has ruled out.

    Of characters whose evidence has not been asked for, most pairs told apart for its cost; ties by key (our rule).
    """
    characters = vocabulary().characters
    used = {HABITAT_GROUP, *(characters[key].evidence_group for key in asked)}
    fresh = [one for one in characters_asked(one.group).values() if one.evidence_group not in used]
    here = [one.inside[taxon] for taxon in left.remaining]
    feared = [one.inside[fallen.taxon] for fallen in left.fallen if fallen.beware]
    score = _score_between(here, feared)
    best = min(fresh, key=lambda character: (-score(character), character.key), default=None)
    return best if best is not None and score(best) else None


def _score_between(here: list[Account], feared: list[Account]) -> Callable[[Character], float]:
    def score(character: Character) -> float:
        key = character.key
        told = sum(disjoint(this.value(key), other.value(key), character) for this in here for other in feared)
        return told / cost(character)

    return score


def characters_asked(group: str) -> dict[str, Character]:
    """The characters of a group that a question may be about. No query."""
    return {key: one for key, one in vocabulary().characters_of(group).items() if visible(one)}


def _answer(key: str, answer: Answer | None) -> ShownAnswer:
    character = vocabulary().characters[key]
    if answer is None:
        return ShownAnswer(key, character.label, "cannot tell")
    if isinstance(answer, frozenset):
        states = (state.label for state_key, state in character.states.items() if state_key in answer)
        return ShownAnswer(key, character.label, " or ".join(states))
    return ShownAnswer(key, character.label, measure(answer, answer))


def _fallen(fallen: Iterable[Fallen], said: Mapping[str, ShownAnswer], names: Names) -> Iterator[ShownFallen]:
    by_taxon = {one.taxon: one for one in fallen}
    for named in names.of(by_taxon):
        one = by_taxon[named.taxon]
        yield ShownFallen(named, tuple(said[key] for key in one.characters), one.beware)
