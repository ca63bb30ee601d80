"""The command line: what a person typed becomes a call of the pipeline, its outcome is told.

Exit codes: 0 done; 1 something is wrong and the message says what to do; 2 the command was
mistyped; 130 interrupted, the next run resumes.
"""

from __future__ import annotations

import os
import sys
from importlib import import_module

MODULES = (
    *("desk", "intake", "letters", "packets", "photos", "reviewing", "evidence", "analysis"),
    *("publishing", "upkeep", "keeping", "benches"),
)
EXIT_PROBLEM = 1
EXIT_INTERRUPTED = 130


def register_commands() -> None:
    """Import the modules whose functions are commands."""
    for name in MODULES:
        import_module(f"triage.cli.{name}")


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code; errors a person can act on are shown as such."""
    from triage.cli import say
    from triage.cli.app import app
    from triage.errors import TriageError

    register_commands()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # Names and places must not stop the program on a console of another encoding.
            stream.reconfigure(errors="replace")
    try:
        app(args=arguments, standalone_mode=True)
    except TriageError as error:
        say.note(f"triage: {error}")
        return EXIT_PROBLEM
    except KeyboardInterrupt:
        say.note("\ntriage: stopped. Run the same command again to resume.")
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        return EXIT_PROBLEM
    except SystemExit as done:
        return done.code if isinstance(done.code, int) else EXIT_PROBLEM
    except Exception as error:  # the last place where it can become a sentence
        from triage.cli.advice import advice_for, kept_details

        advice = advice_for(error)
        if not advice:
            where = kept_details(error)
            advice = f"this is a fault of the program. Where it happened was written to {where}"
        say.note(f"triage: {advice}.")
        return EXIT_PROBLEM
    return 0


def entry_point() -> None:
    """What the installed command calls: all that it writes is its owner's alone to read."""
    os.umask(0o077)  # exports, packets, backups, previews: people's photos and names
    sys.exit(main())
