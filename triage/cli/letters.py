"""The command for what goes back to people: drafted questions, thanks and season letters."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, now, opened
from triage.standards.counting import counted

if TYPE_CHECKING:
    from triage.report.volunteer_letters import LettersOutcome
    from triage.store.connection import Survey


@app.command()
def replies(
    survey: options.Survey = options.HERE,
    thanks: Annotated[
        bool, typer.Option("--thanks", help="Draft thanks over what was settled since the last.")
    ] = False,
    season: Annotated[int | None, typer.Option(help="Draft letters about this year.")] = None,
    show: Annotated[bool, typer.Option("--show", help="Print the letters; write nothing.")] = False,
    imap_drafts: Annotated[
        str, typer.Option(help="Put the new drafts into this account's folder of drafts.")
    ] = "",
    password_from: options.Password = "keyring",
    token: options.Token = False,
    security: options.Security = "tls",
    ca_file: options.Certificates = None,
    by: options.By = "coordinator",
    json: options.Json = False,
) -> None:
    """List or draft letters; nothing is ever sent. Example: triage replies --thanks."""
    from triage.mail.imap_accounts import account_of
    from triage.mail.imap_drafts import append_drafts
    from triage.pipeline import volunteer_letters as stage

    with opened(survey) as here:
        if not thanks and season is None:
            _list_questions(here, json=json)
            return
        if season is None:
            outcome = stage.thanks(here, by=by, now=now(), show=show)
        else:
            outcome = stage.season(here, season, by=by, now=now(), show=show)
        folder = ""
        if imap_drafts and not show:
            account = account_of(
                imap_drafts,
                mailbox="INBOX",
                secret_from=password_from,
                is_token=token,
                security=security,
                ca_file=ca_file,
            )
            folder = append_drafts(account, [letter.content for letter in outcome.letters])
    _say_letters(outcome, folder, show=show, json=json)


def _list_questions(survey: Survey, *, json: bool) -> None:
    from triage.pipeline import drafts as stage

    drafts = stage.drafts(survey)
    if json:
        say.as_json(drafts)
        return
    if not drafts:
        say.line("No question has been drafted: 'triage settle MESSAGE --ask WHAT' drafts one.")
    for draft in drafts:
        answered = "answered" if draft.answered else "not answered yet"
        say.line(f"{draft.code}  {draft.what}  message {draft.message[:10]}  {answered}")
        say.line(f"    {draft.path}")


def _say_letters(outcome: LettersOutcome, folder: str, *, show: bool, json: bool) -> None:
    if json:
        say.as_json(
            {
                "letters": [
                    {"person": one.person, "path": one.path, "sightings": one.sightings}
                    for one in outcome.letters
                ],
                "skipped": outcome.skipped,
                "stale": outcome.stale,
                "files": outcome.files,
                "folder": folder,
            }
        )
        return
    for letter in outcome.letters:
        if show:
            say.line(f"--- to {letter.person} ---")
            say.line(letter.text)
        else:
            say.line(f"{letter.person}  {counted(letter.sightings, 'sighting')}  {letter.path}")
    say.each("for all: ", outcome.files)
    say.each("no letter to ", outcome.skipped)
    say.each("out of date: ", outcome.stale)
    if folder:
        say.line(f"{counted(len(outcome.letters), 'draft')} put into {folder} on the server.")
    if not (outcome.letters or outcome.files):
        say.line("There is nothing to write: no sighting was settled since the last letters.")
