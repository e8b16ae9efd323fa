"""Bank statements as ISO 20022 camt.053 messages (BankToCustomerStatement), versions 001.02 and 001.08.

Read is what both versions share by the message definition: Stmt/Id, Acct/Id, Ntry with Amt, CdtDbtInd, RvslInd, Sts
(a code in 02, a choice with Cd in 08), BookgDt, NtryRef or AcctSvcrRef, and NtryDtls/TxDtls with the debtor and what
was written. CdtDbtInd says which way the entry went as booked, a reversal included: a reversed credit is a debit.
A file comes from outside: every document type is refused, and so are files and statements beyond any bank's day.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring

from foraywright.floor.compute.money import decimals

MOST_BYTES = 5 * 1024 * 1024
MOST_LINES = 20_000
MOST_MINOR = 10**12
LONGEST = {"id": 60, "entry": 80, "text": 500, "payer": 140}
VERSIONS = ("camt.053.001.02", "camt.053.001.08")
NUMBERED = "entry "
"""How an entry is called that the bank gave no reference: by its number within the statement."""
NAMESPACE = "urn:iso:std:iso:20022:tech:xsd:"


class StatementRefused(ValueError):
    """The file is no statement that can be taken in; the text says why, in a sentence."""


@dataclass(frozen=True, slots=True)
class StatementLine:
    """One payment of a statement. `amount_minor` > 0; `came_in` says which way; `text` is all that was written.

    `entry` identifies the line within `statement` of `account` (a further page of a statement counts as one of its
    own). `payer` and `text` are empty for what went out.
    """

    account: str
    statement: str
    entry: str
    booked_on: date
    amount_minor: int
    currency: str
    came_in: bool
    is_reversal: bool
    text: str = ""
    payer: str = ""


def read_statements(content: bytes) -> tuple[StatementLine, ...]:
    """The booked lines of all statements in the file, in order. Raises StatementRefused.

    An entry of several payments becomes a line each where their amounts add up to it; else it stays one line, for a
    person. What is only announced (pending, for information) is left out: the bank books it in a later statement.
    """
    root = _vetted(content)
    lines = tuple(line for statement in _all(root, "BkToCstmrStmt/Stmt") for line in _lines(statement))
    if len(lines) > MOST_LINES:
        raise StatementRefused(f"It has {len(lines):,} lines; up to {MOST_LINES:,} are read at once.")
    if len({(one.account, one.statement, one.entry) for one in lines}) < len(lines):
        raise StatementRefused("Two of its entries bear the same reference, so they cannot be told apart.")
    return lines


def _vetted(content: bytes) -> Element:
    if len(content) > MOST_BYTES:
        raise StatementRefused(f"It has more than {MOST_BYTES // 1024 // 1024} MB.")
    try:
        root: Element = fromstring(content, forbid_dtd=True)
    except DefusedXmlException as fault:
        raise StatementRefused("It brings a document type of its own, which no statement needs.") from fault
    except (ParseError, ValueError, LookupError) as fault:
        raise StatementRefused("It is broken: it cannot be read as XML.") from fault
    if root.tag not in {f"{{{NAMESPACE}{one}}}Document" for one in VERSIONS}:
        raise StatementRefused(f"It is no statement that we can read: {' and '.join(VERSIONS)} are.")
    return root


def _lines(statement: Element) -> Iterator[StatementLine]:
    account = _text(statement, "Acct/Id/IBAN") or _text(statement, "Acct/Id/Othr/Id")
    name = _name(statement)
    if not account or not name:
        raise StatementRefused("A statement in it has no identification or no account.")
    for number, entry in enumerate(_all(statement, "Ntry"), start=1):
        if (_text(entry, "Sts/Cd") or _text(entry, "Sts")) == "BOOK":
            yield from _lines_of_entry(entry, account[: LONGEST["id"]], name[: LONGEST["id"]], number)


def _name(statement: Element) -> str:
    """Its identification, and the number of a further page: entries without a reference are counted on each page."""
    name, page = _text(statement, "Id"), _text(statement, "StmtPgntn/PgNb")
    return f"{name} page {page}" if name and page not in ("", "1") else name


def _lines_of_entry(entry: Element, account: str, statement: str, number: int) -> Iterator[StatementLine]:
    amount, currency = _amount(entry, "Amt")
    reference = (_text(entry, "AcctSvcrRef") or _text(entry, "NtryRef") or f"{NUMBERED}{number}")[:70]
    parts = list(_all(entry, "NtryDtls/TxDtls"))
    amounts = [_part_amount(one, currency) for one in parts]
    apart = len(parts) > 1 and None not in amounts and sum(one or 0 for one in amounts) == amount
    pieces = list(zip(parts, amounts, strict=True)) if apart else [(entry, amount)]
    for place, (piece, minor) in enumerate(pieces, start=1):
        came_in = _came_in(entry)
        yield StatementLine(
            account=account,
            statement=statement,
            entry=f"{reference}/{place}" if apart else reference,
            booked_on=_day(entry),
            amount_minor=minor or 0,
            currency=currency,
            came_in=came_in,
            is_reversal=_text(entry, "RvslInd") in ("true", "1"),
            text=_written(piece)[: LONGEST["text"]] if came_in else "",
            payer=_payer(piece)[: LONGEST["payer"]] if came_in else "",
        )


def _came_in(entry: Element) -> bool:
    way = _text(entry, "CdtDbtInd")
    if way not in ("CRDT", "DBIT"):
        raise StatementRefused("An entry in it does not say whether money came or went.")
    return way == "CRDT"


def _part_amount(part: Element, currency: str) -> int | None:
    """The amount of one payment of several, where it says one in the entry's currency."""
    for path in ("Amt", "AmtDtls/TxAmt/Amt"):
        if next(_all(part, path), None) is not None:
            amount, own = _amount(part, path)
            return amount if own == currency else None
    return None


def _amount(holder: Element, path: str) -> tuple[int, str]:
    """Minor units and ISO 4217 code."""
    found = next(_all(holder, path), None)
    currency = found.get("Ccy", "")[:3] if found is not None else ""
    try:
        minor = Decimal((found.text or "").strip()).scaleb(decimals(currency)) if found is not None else Decimal("NaN")
    except ArithmeticError:
        minor = Decimal("NaN")
    if found is None or not minor.is_finite() or not 0 < minor < MOST_MINOR or minor != int(minor):
        raise StatementRefused("An amount in it is missing or is no amount of money.")
    return int(minor), currency


def _day(entry: Element) -> date:
    typed = _text(entry, "BookgDt/Dt") or _text(entry, "BookgDt/DtTm")[:10]
    try:
        return date.fromisoformat(typed[:10])
    except ValueError:
        raise StatementRefused("An entry in it has no day on which it was booked.") from None


def _written(holder: Element) -> str:
    """All that the payer wrote: the structured reference, the free text, and the end-to-end identification."""
    found = [part for place in _details(holder) for part in _remarks(place)]
    return " · ".join(dict.fromkeys(one for one in found if one and one != "NOTPROVIDED"))


def _remarks(details: Element) -> Iterator[str]:
    for path in ("RmtInf/Strd/CdtrRefInf/Ref", "RmtInf/Ustrd", "Refs/EndToEndId"):
        yield from (" ".join((one.text or "").split()) for one in _all(details, path))


def _payer(holder: Element) -> str:
    for details in _details(holder):
        name = _text(details, "RltdPties/Dbtr/Nm") or _text(details, "RltdPties/Dbtr/Pty/Nm")
        if name:
            return " ".join(name.split())
    return ""


def _details(holder: Element) -> list[Element]:
    """The payments that `holder` tells of: those of an entry, or itself."""
    return list(_all(holder, "NtryDtls/TxDtls")) or [holder]


def _all(holder: Element, path: str) -> Iterator[Element]:
    """The elements below `holder` along `path`, whatever the version's namespace."""
    first, _, rest = path.partition("/")
    for one in holder:
        if one.tag.rpartition("}")[2] == first:
            yield from _all(one, rest) if rest else (one,)


def _text(holder: Element, path: str) -> str:
    return next(((one.text or "").strip() for one in _all(holder, path)), "")
