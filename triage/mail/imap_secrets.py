"""Fetch the password or token of a mail account from where it is kept.

A secret comes from the system's keyring, the environment or a command, never from a file of the
survey, and goes nowhere but to the mail server: no record, error or log holds it.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from triage.errors import SettingsError

KEYRING_SERVICE = "odonata-triage"
_COMMAND_SECONDS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class SecretSource:
    """Where to ask for a secret: a keyring service, an environment variable, or a command.

    ``command`` is given as its words, so that no shell reads it.
    """

    kind: Literal["keyring", "environment", "command"] = "keyring"
    service: str = KEYRING_SERVICE
    variable: str = ""
    command: tuple[str, ...] = ()


def read_secret(
    source: SecretSource, *, user: str, environment: Mapping[str, str] | None = None
) -> str:
    """Fetch the secret of a user.

    Raises
    ------
    SettingsError
        If there is none; the message names the place asked, never what was found there.
    """
    if source.kind == "environment":
        secret = (os.environ if environment is None else environment).get(source.variable, "")
        place = f"environment variable {source.variable}"
    elif source.kind == "command":
        secret, place = _from_command(source.command), f"command {' '.join(source.command[:1])}"
    else:
        secret, place = _from_keyring(source.service, user), f"keyring service {source.service}"
    if not secret:
        raise SettingsError(
            "no password or token was found there",
            failing=place,
            next_step=(
                f"Store it there ('keyring set {KEYRING_SERVICE} {user}' asks for it and keeps it),"
                " or name another place with --password-from."
            ),
        )
    return secret


def _from_keyring(service: str, user: str) -> str:
    import keyring

    try:
        return keyring.get_password(service, user) or ""
    except Exception:  # each system's keyring has its own errors, some of which quote the secret
        return ""


def _from_command(command: tuple[str, ...]) -> str:
    if not command:
        return ""
    try:
        done = subprocess.run(
            list(command), capture_output=True, timeout=_COMMAND_SECONDS, check=False
        )
    except (OSError, subprocess.TimeoutExpired):
        return ""
    if done.returncode != 0:
        return ""
    return done.stdout.decode("utf-8", "replace").strip("\r\n").split("\n")[0].strip("\r")
