"""The coordinator's commands: a survey made, mail received and examined, the inbox cleared."""

from __future__ import annotations

import shlex
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, now, opened
from triage.standards.counting import counted
from triage.standards.letters import alphabetical

if TYPE_CHECKING:
    from triage.exports.standing_photos import StandingPhoto
    from triage.mail.kept import MessageRow
    from triage.store.people import Person

QUESTIONS = (
    *("place", "date", "place and date", "publish", "name", "original", "identity"),
    "search",
)


@app.command()
def init(
    survey: options.Survey = options.HERE,
    title: Annotated[str, typer.Option(help="The survey's name.")] = "",
) -> None:
    """Make a survey folder. Example: triage init --survey linnet --title "Linnet Water Survey"."""
    from triage.store.connection import SETTINGS, create_survey, is_survey

    existed = is_survey(survey)
    create_survey(survey, title=title)
    folder = survey.resolve()
    done = "already a survey" if existed else "survey made"
    say.line(f"{folder}: {done}; settings in {SETTINGS}")
    at = "" if folder == Path.cwd() else f" --survey {shlex.quote(str(survey))}"
    say.note(f"Next: 'triage sites FILE{at}' takes in your waters, 'triage run MAIL{at}' mail.")


@app.command()
def receive(
    sources: Annotated[
        list[Path] | None, typer.Argument(help="Folders, .eml, mbox, Maildir or .zip.")
    ] = None,
    survey: options.Survey = options.HERE,
    explain: Annotated[
        str, typer.Option(help="Say what became of every part of this message.")
    ] = "",
    imap: Annotated[
        str, typer.Option(help="Read a mailbox, as user@host or user@host:port; it is not changed.")
    ] = "",
    imap_folder: Annotated[str, typer.Option(help="The folder of that mailbox to read.")] = "INBOX",
    password_from: options.Password = "keyring",
    token: options.Token = False,
    security: options.Security = "tls",
    ca_file: options.Certificates = None,
    json: options.Json = False,
) -> None:
    """Take in mail; mail already received is skipped. Example: triage receive inbox.mbox."""
    from triage.cli import message_account
    from triage.mail.imap_accounts import account_of
    from triage.pipeline import receive as stage

    with opened(survey) as here:
        if explain:
            say.lines(message_account.account_of(here, explain), json=json)
            return
        with say.progress_bars() as progress:
            if imap:
                account = account_of(
                    imap,
                    mailbox=imap_folder,
                    secret_from=password_from,
                    is_token=token,
                    security=security,
                    ca_file=ca_file,
                )
                outcome = stage.take_in_mailbox(here, account, now=now(), progress=progress)
            else:
                outcome = stage.take_in(here, sources or [], now=now(), progress=progress)
    say.told(outcome, json=json)


@app.command()
def examine(
    survey: options.Survey = options.HERE,
    processes: options.Processes = None,
    learn: Annotated[
        bool, typer.Option("--learn", help="Learn from corrected views and boxes, if it helps.")
    ] = False,
    cluster: Annotated[
        str, typer.Option(help="Measure the photos on this Dask scheduler, as tcp://host:8786.")
    ] = "",
    originals_at: Annotated[
        str,
        typer.Option(help="Where the cluster finds the folder originals: a path or an fsspec URL."),
    ] = "",
    by: options.By = "coordinator",
    json: options.Json = False,
) -> None:
    """Look at new photos and texts; resumes where it stopped. Example: triage examine."""
    from triage.pipeline import examine as stage
    from triage.workers.cluster import Cluster

    workers = Cluster(address=cluster) if cluster else None
    with opened(survey) as here, say.progress_bars() as progress:
        if learn:
            from triage.pipeline import learning

            report = learning.learn(here, by=by, now=now(), progress=progress)
            say.lines(report.lines, json=json)
        outcome = stage.examine(
            here,
            now=now(),
            processes=processes,
            workers=workers,
            originals_at=originals_at,
            progress=progress,
        )
    if not (json and learn):
        say.told(outcome, json=json)


@app.command()
def inbox(
    survey: options.Survey = options.HERE,
    show: Annotated[
        str, typer.Option(help="Open the words and photos of this row (number or identifier).")
    ] = "",
    files: Annotated[
        str, typer.Option(help="Say where this message's files lie on the disk.")
    ] = "",
    json: options.Json = False,
) -> None:
    """Show what needs a human, worst first, each with its fix. Example: triage inbox --show 1."""
    from triage.cli import inbox_rows
    from triage.pipeline import inbox as stage
    from triage.pipeline.audit import record_needs

    with opened(survey) as here:
        if files:
            listed = [" ".join(one) for one in stage.kept_files(here, files)]
            if not (listed or json):
                say.line("No file came with this message: it has words only.")
            say.lines(listed, json=json)
            return
        if show:
            inbox_rows.show(here, show)
            return
        entries = stage.entries(here)
        records = record_needs(here, now=now())
    if json:
        say.as_json(inbox_rows.as_data(entries, records))
    else:
        say.lines(inbox_rows.rows(entries, records))


@app.command()
def settle(
    messages: Annotated[list[str], typer.Argument(help="Identifiers; the first six digits do.")],
    survey: options.Survey = options.HERE,
    site: Annotated[
        str, typer.Option(help="The site (identifier or name), or latitude,longitude.")
    ] = "",
    date: Annotated[str, typer.Option(help="YYYY-MM-DD, YYYY-MM-DDTHH:MM or FIRST/LAST.")] = "",
    correct_camera: Annotated[
        str, typer.Option(help="What to add to the camera's clock: +1h, -30m, +86308s, +1d2h.")
    ] = "",
    set_aside: Annotated[str, typer.Option(help="Set it aside, for this reason.")] = "",
    ask: Annotated[
        str,
        typer.Option(help=f"Draft a question: {', '.join(QUESTIONS[:-1])} or {QUESTIONS[-1]}."),
    ] = "",
    accept: Annotated[bool, typer.Option("--accept", help="Accept it as it is.")] = False,
    take_offer: Annotated[
        bool, typer.Option("--take-offer", help="Take the repair, day or site that the row offers.")
    ] = False,
    photographer: options.Photographer = "",
    new: options.NewPerson = False,
    answers: Annotated[str, typer.Option(help="The question that it answers (q-...).")] = "",
    from_sender: Annotated[
        bool,
        typer.Option("--from-sender", help="MESSAGES are addresses: all that is open of them."),
    ] = False,
    by: options.By = "coordinator",
    json: options.Json = False,
) -> None:
    """Give a message what it lacks, or set it aside. Example: triage settle 3fa91c --accept."""
    from triage.inbox import Settlement
    from triage.metadata.durations import seconds_of
    from triage.pipeline import inbox, photo_list
    from triage.pipeline import settle as stage
    from triage.store.messages import any_unsettled

    settlement = Settlement(
        site=site,
        date=date,
        camera_offset_seconds=seconds_of(correct_camera) if correct_camera else None,
        set_aside=set_aside,
        ask=ask,
        accept=accept,
        take_offer=take_offer,
        answers=answers,
        photographer=photographer,
        new_person=new,
    )
    with opened(survey) as here:
        wanted = inbox.open_of_senders(here, messages) if from_sender else messages
        rows = stage.settle(here, wanted, settlement, by=by, now=now(), tell=say.note)
        clear = not any_unsettled(here)
        stands = {
            row.identifier: photo_list.standing_photos(here, [row.identifier]) for row in rows
        }
    if json:
        say.as_json([{"message": row, "photos": stands[row.identifier]} for row in rows])
        return
    _say_settled({row: stands[row.identifier] for row in rows})
    if clear:
        say.line("The inbox is clear.")


def _say_settled(stands: Mapping[MessageRow, Sequence[StandingPhoto]]) -> None:
    from triage.exports.standing_photos import sentence_of

    for row, photos in stands.items():
        say.line(f"{row.identifier[:10]}  {row.state}: {row.state_reason}")
        for photo in photos:
            say.line(f"    now stands: {sentence_of(photo)}")


TwoPeopleOption = Annotated[
    tuple[str, str] | None, typer.Option(help="Two addresses or codes of two people.")
]


@app.command()
def people(
    survey: options.Survey = options.HERE,
    same: Annotated[
        tuple[str, str] | None, typer.Option(help="Two addresses or codes that are one person's.")
    ] = None,
    two: TwoPeopleOption = None,
    short: Annotated[
        tuple[str, str] | None, typer.Option(help="A short name and the name it stands for.")
    ] = None,
    consent_seen: Annotated[
        str, typer.Option(help="The code of a person whose words were seen and do grant it.")
    ] = "",
    nothing_granted: Annotated[
        str, typer.Option(help="The code of a person whose words were seen and grant nothing.")
    ] = "",
    nothing_said: Annotated[
        str, typer.Option(help="The code of a person whose unclear words are not about use.")
    ] = "",
    guardian: Annotated[
        str, typer.Option(help="The code of a person whose mails have photos of or by a child.")
    ] = "",
    consent: Annotated[
        str, typer.Option(help="The code of a person who said elsewhere what may be published.")
    ] = "",
    words: Annotated[str, typer.Option(help="With --consent: what they said.")] = "",
    given_by: Annotated[str, typer.Option(help="With --guardian: who consented.")] = "",
    mail: Annotated[str, typer.Option(help="With --guardian: the message that says so.")] = "",
    by: options.By = "coordinator",
    json: options.Json = False,
) -> None:
    """List people and what they consented to. Example: triage people --same a@x.org b@x.org."""
    from triage.pipeline import consents, persons
    from triage.store import people

    with opened(survey) as here:
        if same:
            persons.join(here, *same, by=by, now=now())
        if two:
            persons.tell_apart(here, *two, by=by, now=now())
        if short:
            persons.set_short_name(here, *short, by=by, now=now())
        for code, say_so in (
            (consent_seen, consents.see_consent),
            (nothing_granted, consents.deny_grant),
            (nothing_said, partial(consents.decide_unclear, publish="unstated")),
        ):
            if code:
                say_so(here, code, by=by, now=now())
        if consent:
            consents.record_consent(here, consent, words, by=by, now=now())
        if guardian:
            consents.record_guardian(
                here, guardian, given_by=given_by, message=mail, by=by, now=now()
            )
        everybody = people.listed(here)
    _show_people(everybody, json)


def _show_people(everybody: list[Person], json: bool) -> None:
    by_name = sorted(everybody, key=lambda one: (alphabetical(one.name), one.code))
    say.listed(
        everybody if json else by_name,
        {
            "code": lambda one: one.code,
            "name": lambda one: one.name or "-",
            "addresses": lambda one: ", ".join(one.addresses) or "-",
            "publication": lambda one: one.publish,
            "licence": lambda one: one.licence or "-",
        },
        empty="Nobody has written to this survey yet: 'triage run MAIL' receives mail.",
        json=json,
    )


@app.command()
def forget(
    person: Annotated[str, typer.Argument(help="An address, or the code of a person.")],
    survey: options.Survey = options.HERE,
    photos: Annotated[
        bool, typer.Option("--photos", help="Drop the person's photos too: deleted for good.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Do not ask again.")] = False,
) -> None:
    """Remove a person's mail, name and contact for good. Example: triage forget a@example.org."""
    from triage.pipeline import persons

    with opened(survey) as here:
        persons.finish_forgetting(here)
        found = persons.whom(here, person)
        if not yes:
            say.line(found.sentence)
            if not typer.confirm(
                "Their mail is deleted for good; their records stay under a code. Remove them?"
            ):
                say.note("Nobody was removed, and nothing was changed.")
                raise typer.Exit(1)
            if found.photos and not photos:
                photos = typer.confirm(
                    f"Drop the {counted(len(found.photos), 'photo')} too? They are deleted for"
                    " good."
                )
        outcome = persons.forget(here, person, now=now(), photos=photos)
    say.lines(outcome.sentences)
