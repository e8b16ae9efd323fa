"""`python -m tests.proofs.machine RUNS [MINUTES [first]]`: every act on places and money in any order, 60 steps a run.

Prints how many were run. Stops at the first broken invariant with the shortest way to it; with "first", with any.
"""

from __future__ import annotations

import sys
import time

from hypothesis import Phase
from hypothesis.stateful import invariant

from tests.proofs.setting import set_up

STEPS = 60
AT_ONCE = 25


def main(runs: int, minutes: float, *, shortest: bool) -> None:
    """Run in portions, until `runs` are done or the time is over."""
    set_up()
    from tests.bookings.books import rolled_back
    from tests.bookings.test_places_machine import Places, run
    from tests.cast import make_world
    from tests.conftest import NOW

    class Counted(Places):
        steps = 0

        @invariant()
        def counted(self) -> None:
            Counted.steps += 1

    phases = [Phase.generate, *([Phase.shrink] if shortest else [])]
    done, begun = 0, time.monotonic()
    while done < runs and time.monotonic() < begun + 60 * minutes:
        with rolled_back():
            examples = min(AT_ONCE, runs - done)
            # The first broken invariant is enough: else it goes on to look for others.
            more = {"phases": phases, "report_multiple_bugs": False}
            run(make_world(now=NOW), examples=examples, steps=STEPS, of=Counted, **more)
        done += min(AT_ONCE, runs - done)
        print(f"{done} runs of up to {STEPS} steps, {Counted.steps} steps, clean", flush=True)
    print(f"{'PASS' if done >= runs else 'NOT FINISHED'}: {done} of {runs} runs, {time.monotonic() - begun:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]), float(sys.argv[2]) if len(sys.argv) > 2 else 24 * 60, shortest="first" not in sys.argv)
