"""Says at the end of a run how many published figures were checked, from how many sources.

Counted from the reports, so that it is right when several workers share the tests.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Writes the count; nothing when no published figure was checked."""
    ran = [report for outcome in ("passed", "failed") for report in terminalreporter.stats.get(outcome, [])]
    for line in summary_lines(
        (report.outcome, dict(report.user_properties)) for report in ran if report.when == "call"
    ):
        terminalreporter.write_line(line)


def summary_lines(reports: Iterable[tuple[str, Mapping[str, Any]]]) -> list[str]:
    """The count in words, from outcome and properties of each report."""
    entries = [(outcome, *properties["published"]) for outcome, properties in reports if "published" in properties]
    if not entries:
        return []
    kinds = Counter(kind for _, _, kind, _ in entries)
    sources = {source for _, source, _, _ in entries}
    recalled = sum(not seen for *_, seen in entries)
    failed = sum(outcome == "failed" for outcome, *_ in entries)
    return [
        f"Published figures: {kinds['case']} cases and {kinds['refusal']} refusals from {len(sources)} sources; "
        f"{len(entries) - recalled} seen in the source, {recalled} from memory; {failed} failed."
    ]
