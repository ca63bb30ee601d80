"""Work at many inputs on the machines of a Dask cluster, results as they come.

Only results come back; whoever asked writes them. The work of a worker that is lost is done again
by another. Dask is an extra of the installation and is imported here alone, when it is used.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from itertools import islice
from typing import Any

from triage.errors import SourceError
from triage.workers.processes import SECONDS_EACH, Given, Result, Work

AHEAD = 4  # inputs under way for each thread of the cluster; bounds memory here and there
ANSWER_SECONDS = 30.0  # until a scheduler answers and has a worker
RETRIES = 2  # of an input whose work failed on one worker and may succeed on another
INSTALL = "Install it here and on every worker with: pip install 'odonata-triage[cluster]'"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cluster:
    """Workers of a running Dask scheduler, found at an address such as ``tcp://host:8786``."""

    address: str

    def results(
        self, work: Work[Given, Result], inputs: Sequence[Given]
    ) -> Iterator[tuple[Given, Result]]:
        """Each input with its result, as they are done; see ``processes.Workers``.

        An input that takes too long ends its worker's process, as one that crashes does, and is
        given to another until the scheduler gives it up; both come out as ``crashed``.

        Raises
        ------
        SourceError
            If Dask is missing, no scheduler answers, it has no worker that can do the work, or it
            goes away meanwhile.
        """
        if not inputs:
            return
        client = self._client()
        try:
            self._ask_each(client, partial(work.unable, inputs[0]))
            yield from _as_completed(client, work, inputs)
        except (OSError, CancelledError) as error:
            raise self._error("it went away", "What is done is kept: start it, repeat.") from error
        finally:
            with suppress(OSError, TimeoutError):
                client.close()

    def _client(self) -> Any:
        try:
            from distributed import Client
        except ImportError as error:
            raise self._error("working on a cluster needs Dask", INSTALL) from error
        try:
            client = Client(self.address, timeout=ANSWER_SECONDS, set_as_default=False)
            client.wait_for_workers(1, timeout=ANSWER_SECONDS)
        except (OSError, TimeoutError, ValueError) as error:
            raise self._error(
                f"no scheduler with a worker answered within {ANSWER_SECONDS:.0f} seconds",
                "Start 'dask scheduler' and 'dask worker', and check the address.",
            ) from error
        return client

    def _ask_each(self, client: Any, unable: Callable[[], str]) -> None:
        for worker, problem in client.run(_asked, unable).items():
            if problem:
                raise self._error(
                    f"the worker at {worker} cannot do this work: {problem}",
                    "Start every worker with the same triage and the same view of the originals.",
                )

    def _error(self, what: str, next_step: str) -> SourceError:
        return SourceError(what, failing=f"cluster {self.address}", next_step=next_step)


def _as_completed(
    client: Any, work: Work[Given, Result], inputs: Sequence[Given]
) -> Iterator[tuple[Given, Result]]:
    from distributed import KilledWorker, as_completed

    waiting = iter(inputs)
    under_way: dict[str, Given] = {}
    done = as_completed(loop=client.loop)

    def give(most: int) -> None:
        for given in islice(waiting, most):
            future = client.submit(_within_time, work.function, given, pure=False, retries=RETRIES)
            under_way[future.key] = given
            done.add(future)

    give(AHEAD * max(sum(client.nthreads().values()), 1))
    for future in done:
        given = under_way.pop(future.key)
        try:
            result = future.result()
        except KilledWorker:  # after as many workers as the scheduler allows one task to end
            result = work.crashed(given)
        give(1)
        yield given, result


# -- on a worker ---------------------------------------------------------------------------------


def _asked(unable: Callable[[], str]) -> str:
    try:
        return unable()
    except Exception as error:  # a library of the worker's own that is missing, an address unknown
        return f"{type(error).__name__}: {error}"


def _within_time(function: Callable[[Given], Result], given: Given) -> Result:
    """The result, on one core; a process that takes too long ends, and its nanny starts another."""
    import cv2

    cv2.setNumThreads(1)
    limit = threading.Timer(SECONDS_EACH, os._exit, [1])
    limit.daemon = True
    limit.start()
    try:
        return function(given)
    finally:
        limit.cancel()
