"""Bank statements for tests, made after the ISO 20022 message definition of BankToCustomerStatement.

001.02 and 001.08 differ in what is used here: Sts is a code in 02 and holds Cd in 08; in 08 the debtor stands in Pty
and a payment has an Amt of its own, in 02 its amount stands in AmtDtls/TxAmt.
"""

from __future__ import annotations

from dataclasses import dataclass
from xml.sax.saxutils import escape

ACCOUNT = "GB33BUKB20201555555555"


@dataclass(frozen=True)
class Entry:
    """An entry; with `parts` (amount, text) a batch of payments."""

    amount: str
    text: str = ""
    reference: str = "E1"
    way: str = "CRDT"
    structured: str = ""
    payer: str = "Pat Partridge"
    currency: str = "GBP"
    status: str = "BOOK"
    is_reversal: bool = False
    parts: tuple[tuple[str, str], ...] = ()


def statement(*entries: Entry, version: str = "02", name: str = "2026-09-14/1") -> bytes:
    """A file of one statement."""
    body = "".join(_entry(one, version) for one in entries)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        f'<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.{version}">'
        "<BkToCstmrStmt><GrpHdr><MsgId>M1</MsgId><CreDtTm>2026-09-14T18:00:00</CreDtTm></GrpHdr>"
        f"<Stmt><Id>{name}</Id><CreDtTm>2026-09-14T18:00:00</CreDtTm>"
        f"<Acct><Id><IBAN>{ACCOUNT}</IBAN></Id><Ccy>GBP</Ccy></Acct>{body}</Stmt></BkToCstmrStmt></Document>"
    ).encode()


def _entry(one: Entry, version: str) -> str:
    status = one.status if version == "02" else f"<Cd>{one.status}</Cd>"
    parts = one.parts or ((one.amount, one.text),)
    return (
        f'<Ntry><Amt Ccy="{one.currency}">{one.amount}</Amt><CdtDbtInd>{one.way}</CdtDbtInd>'
        f"<RvslInd>{str(one.is_reversal).lower()}</RvslInd><Sts>{status}</Sts><BookgDt><Dt>2026-09-14</Dt></BookgDt>"
        f"<AcctSvcrRef>{one.reference}</AcctSvcrRef><NtryDtls>"
        + "".join(_payment(one, amount, text, version) for amount, text in parts)
        + "</NtryDtls></Ntry>"
    )


def _payment(one: Entry, amount: str, text: str, version: str) -> str:
    own = f'<Amt Ccy="{one.currency}">{amount}</Amt>'
    stated = f"<AmtDtls><TxAmt>{own}</TxAmt></AmtDtls>" if version == "02" else own
    name = f"<Nm>{one.payer}</Nm>"
    debtor = name if version == "02" else f"<Pty>{name}</Pty>"
    structured = f"<Strd><CdtrRefInf><Ref>{one.structured}</Ref></CdtrRefInf></Strd>" if one.structured else ""
    return (
        f"<TxDtls><Refs><EndToEndId>NOTPROVIDED</EndToEndId></Refs>{stated}"
        f"<RltdPties><Dbtr>{debtor}</Dbtr></RltdPties>"
        f"<RmtInf><Ustrd>{escape(text)}</Ustrd>{structured}</RmtInf></TxDtls>"
    )
