"""Acts in processes of their own, each with its own connection, let go at the same moment."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from django.db import connections

from foraywright.floor.refusals import Refusal

SECONDS = 120


class Outcome(NamedTuple):
    """How an act ended: "done" with what it returned, "refused" with the sentence, "fault" with the exception."""

    kind: str
    words: str


def together(acts: Sequence[Callable[[], object]]) -> list[Outcome]:
    """Run every act in a process of its own, all from one barrier; the outcomes stand in the order of the acts."""
    connections.close_all()  # a connection that two processes share belongs to neither
    context = multiprocessing.get_context("fork")
    barrier, answers = context.Barrier(len(acts)), context.Queue()
    children = [context.Process(target=_run, args=(n, one, barrier, answers)) for n, one in enumerate(acts)]
    for child in children:
        child.start()
    try:
        found = dict(answers.get(timeout=SECONDS) for _ in children)
    finally:
        for child in children:
            child.join(5)
            child.kill()
    return [found[number] for number in range(len(acts))]


def _run(number: int, act: Callable[[], object], barrier: Any, answers: Any) -> None:
    connections.close_all()
    barrier.wait(SECONDS)
    answers.put((number, _outcome(act)))
    connections.close_all()


def _outcome(act: Callable[[], object]) -> Outcome:
    try:
        return Outcome("done", str(act()))
    except Refusal as refused:
        return Outcome("refused", refused.sentence)
    except Exception as fault:
        return Outcome("fault", repr(fault))
