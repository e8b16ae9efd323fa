"""Small taxa and a small vocabulary, made for tests of what separates them."""

from collections.abc import Mapping
from typing import Any

from hypothesis import strategies as st

from curriculum.compute.account import UNKNOWN, Account, Interval, Lookalike, Name, Season, Value
from curriculum.compute.vocabulary import Vocabulary
from tests.curriculum.compute.files import vocabulary

YEAR = tuple(range(1, 13))
SOME = (
    "form", "cap_width", "cap_colour", "underside", "underside_colour", "gill_attachment", "stem", "stem_width",
    "stem_base", "ring", "flesh_colour", "flesh_change", "flesh_texture", "latex", "smell", "spore_print", "habitat",
    "substrate", "host",
)  # fmt: skip
"""Characters with every kind of evidence: free, shared groups, sizes, smell, overnight, habitat."""


def taxon(name: str, young: Mapping[str, Value] | None = None, **given: Any) -> Account:
    """An account that says nothing but what is given: facts of the account by name, else values of characters."""
    facts = {key: given.pop(key) for key in ("edibility", "role", "season", "lookalikes", "group") if key in given}
    characters = {"all": given} | ({"young": young} if young else {})
    defaults = {"group": "fungus", "role": "taught", "edibility": "choice", "season": Season(YEAR)}
    names = (Name(name, "accepted", "la"),)
    return Account(
        taxon=name, family="", order="", summary="", names=names, characters=characters, **{**defaults, **facts}
    )


def states(*keys: str) -> frozenset[str]:
    return frozenset(keys)


def alike(*taxa: str) -> tuple[Lookalike, ...]:
    return tuple(Lookalike(one, "", ()) for one in taxa)


def some_vocabulary() -> Vocabulary:
    """The shipped vocabulary, cut down to SOME."""
    whole = vocabulary()
    return Vocabulary(whole.version, {key: whole.characters[key] for key in SOME}, whole.terms)


def any_value(key: str) -> st.SearchStrategy[Value]:
    """A value of a character: unknown, a range in millimetres, or one to three states."""
    character = vocabulary().characters[key]
    if character.kind == "range":
        ends = st.tuples(st.integers(1, 60), st.integers(0, 40))
        return st.one_of(st.just(UNKNOWN), ends.map(lambda pair: Interval(pair[0], pair[0] + pair[1])))
    return st.one_of(st.just(UNKNOWN), st.frozensets(st.sampled_from(sorted(character.states)), min_size=1, max_size=3))


@st.composite
def any_taxon(draw: st.DrawFn, name: str = "one", keys: tuple[str, ...] = SOME) -> Account:
    """A taxon with any values, some of them of young ones only, edible or deadly."""
    given = {key: value for key in keys if (value := draw(any_value(key))) is not UNKNOWN}
    young = {key: value for key in ("cap_colour", "ring") if (value := draw(any_value(key))) is not UNKNOWN}
    edibility = draw(st.sampled_from(["choice", "poisonous", "deadly"]))
    months = tuple(sorted(draw(st.sets(st.integers(1, 12), min_size=1, max_size=4))))
    return taxon(name, young, edibility=edibility, season=Season(months), **given)


def with_value(one: Account, key: str, value: Value) -> Account:
    """The same taxon with another value of a character at all stages; UNKNOWN takes it away everywhere."""
    characters = {stage: dict(table) for stage, table in one.characters.items()}
    if value is UNKNOWN:
        characters = {stage: {k: v for k, v in table.items() if k != key} for stage, table in characters.items()}
    else:
        characters["all"][key] = value
    fields = {field: getattr(one, field) for field in one.__dataclass_fields__}
    return Account(**{**fields, "characters": characters})
