"""The determiner's commands: loose photos, sightings, the queue, determinations, corrections."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli import options, say
from triage.cli.app import app, now, opened
from triage.standards.counting import counted

if TYPE_CHECKING:
    from triage.report.queue_sheet import Ranked
    from triage.store.connection import Survey

Paths = Annotated[list[Path], typer.Argument(help="Photo files and folders (recursive).")]

NO_SIGHTINGS = "No sightings yet: 'triage run MAIL' receives mail and examines its photos."


@app.command()
def copies(paths: Paths, json: options.Json = False) -> None:
    """Group loose photos into copies and bursts. Example: triage copies photos --json."""
    from triage.loose_photos.copies import group_files

    with say.progress_bars() as progress:
        found = group_files(paths, progress=progress)
    if json:
        say.as_json(found)
        return
    for group in found["groups"]:
        say.line(f"{group['kind']}: {len(group['files'])} files, best {group['best']}")
        say.line(f"    {group['evidence']}")
        say.each("    ", group["files"])
    say.line(f"{counted(len(found['groups']), 'group')}")
    for problem in found["problems"]:
        say.line(f"  not read: {problem['file']}: {problem['problem']}")


@app.command()
def measure(
    paths: Paths,
    csv: options.Csv = None,
    json: options.Json = False,
    processes: options.Processes = None,
) -> None:
    """Examine loose photos without a survey. Example: triage measure photos --csv measured.csv."""
    from triage.exports.measured import COLUMNS
    from triage.exports.tables import csv_bytes
    from triage.loose_photos.measuring import measure_paths

    with say.progress_bars() as progress:
        rows = list(measure_paths(paths, processes=processes, progress=progress))
    if csv is not None:
        say.written(csv, csv_bytes(COLUMNS, rows), len(rows), "photo")
    if json:
        say.as_json(rows)
    elif csv is None:
        for row in rows:
            file = str(row["file"]).replace("\n", "\ufffd")
            say.line(f"{file}: {row['problem'] or _seen_text(row)}")


def _seen_text(row: Mapping[str, object]) -> str:
    """What was measured on a photo, in one line."""
    suborder = str(row["suborder"]).capitalize()
    return (
        f"odonate {row['odonate']}, {suborder}, {row['view']}, focus {row['focus']},"
        f" {row['insect_px']} px, usability {row['usability']}"
    )


@app.command()
def sightings(
    what: Annotated[
        str, typer.Argument(help="list, split, merge, add, set-aside or put-back.")
    ] = "list",
    which: Annotated[
        list[str] | None,
        typer.Argument(help="split SIGHTING PHOTO...; add PHOTO; SIGHTING... for all others."),
    ] = None,
    survey: options.Survey = options.HERE,
    reason: Annotated[str, typer.Option(help="With set-aside: why.")] = "",
    by: options.By = "coordinator",
    json: options.Json = False,
) -> None:
    """List, split or merge sightings, add an animal. Example: triage sightings split 3f PHOTO."""
    from triage.determinations.blind import for_blind_eyes
    from triage.pipeline import standing
    from triage.standards.darwin_core import name_with_qualifier, place_words

    names = which or []
    with opened(survey) as here:
        if what == "list" and not names:
            found = standing.sightings(here)
        else:  # answered by the sightings that it touched, as they stand now
            touched = _edited(here, what, names, reason=reason, by=by)
            found = standing.of_photos(here, touched)
        if here.settings.determinations.blind:
            found = [for_blind_eyes(one) for one in found]
    say.listed(
        found,
        {
            "sighting": lambda one: one.identifier,
            "state": lambda one: one.state,
            "date": lambda one: one.event_date or "-",
            "place": lambda one: (
                place_words(one.locality, one.decimal_latitude, one.decimal_longitude) or "-"
            ),
            "name": lambda one: name_with_qualifier(one.scientific_name, one.qualifier) or "-",
            "photos": lambda one: ", ".join(photo[:10] for photo in one.photos),
        },
        empty=NO_SIGHTINGS,
        json=json,
    )


def _edited(here: Survey, what: str, names: list[str], *, reason: str, by: str) -> tuple[str, ...]:
    """Do what was said with sightings; the photos of those that it touched."""
    from triage.errors import UnknownError
    from triage.pipeline import edit
    from triage.store import sightings as store

    if what == "split" and len(names) >= 2:
        return edit.split(here, names[0], names[1:], by=by, now=now(), tell=say.note)
    if what == "merge" and len(names) >= 2:
        return edit.merge(here, names, by=by, now=now(), tell=say.note)
    if what == "add" and len(names) == 1:
        made = edit.add_animal(here, names[0], by=by, now=now())
        say.note(f"sighting {made}")
        return store.find(here, made).photos
    if what in ("set-aside", "put-back") and len(names) == 1:
        back = what == "put-back"
        return edit.set_aside(here, names[0], reason, by=by, now=now(), back=back, tell=say.note)
    raise UnknownError(
        "this is not something that can be done with sightings",
        failing=" ".join([what, *names]),
        next_step="See 'triage sightings --help'.",
    )


@app.command()
def queue(
    survey: options.Survey = options.HERE,
    csv: options.Csv = None,
    html: Annotated[
        Path | None, typer.Option("--html", help="Write a page that needs nothing else.")
    ] = None,
    for_determiner: Annotated[
        str, typer.Option("--for", help="Leave out what this determiner has had.")
    ] = "",
    limit: Annotated[int, typer.Option(help="Show this many (0: all).")] = 0,
    json: options.Json = False,
) -> None:
    """Show the sightings most worth a look first. Example: triage queue --html queue.html."""
    from triage.pipeline import queueing, standing
    from triage.report.queue_sheet import queue_table, rows

    with opened(survey) as here:
        ranked = queueing.queue(here, now=now(), for_determiner=for_determiner)
        ranked = ranked[:limit] if limit else ranked
        states = [] if ranked else [one.state for one in standing.sightings(here)]
        if csv is not None:
            say.written(csv, queue_table(ranked), len(ranked), "sighting")
        if html is not None:
            queueing.write_page(here, ranked, html, now=now())
            say.note(f"{counted(len(ranked), 'sighting')} written to {html}")
    if json:
        say.as_json(rows(ranked))
    elif csv is None and html is None:
        print_queue(ranked, empty=why_empty(states, for_determiner))


def why_empty(states: Sequence[str], for_determiner: str = "") -> str:
    """Why the queue of these sightings, by their states, has nothing to show."""
    if not states:
        return NO_SIGHTINGS
    if for_determiner:
        return f"Nothing is left for {for_determiner}."
    counts = Counter(states)
    told = ", ".join(f"{counts[state]} {state}" for state in sorted(counts))
    return f"No sighting waits for a determination ({told})."


def print_queue(ranked: Sequence[Ranked], *, empty: str = "The queue is empty.") -> None:
    """The queue as a table with its reasons."""
    if not ranked:
        say.line(empty)
        return
    say.table(
        ["", "sighting", "score", "date", "place", "where it may come from", "reasons"],
        [
            [
                f"{one.entry.position}.",
                one.sighting.identifier,
                f"{one.entry.score:.3f}",
                one.sighting.event_date or "no date",
                one.place or "-",
                ", ".join(f"{name} {metres:.0f} m" for name, metres, _ in one.nearest[:2]) or "-",
                "; ".join(one.entry.reasons),
            ]
            for one in ranked
        ],
    )


@app.command()
def determine(
    sighting: Annotated[str, typer.Argument(help="Its identifier; the first six digits do.")] = "",
    taxon: Annotated[str, typer.Argument(help="A name of the checklist, at any rank.")] = "",
    survey: options.Survey = options.HERE,
    by: Annotated[str, typer.Option("--by", help="The determiner's name.")] = "",
    qualifier: Annotated[str, typer.Option(help="How sure the name is, such as cf. or aff.")] = "",
    sex: Annotated[str, typer.Option(help="female or male, in a word or a sign.")] = "",
    life_stage: Annotated[str, typer.Option(help="Such as adult or teneral.")] = "",
    behavior: Annotated[str, typer.Option(help="Such as ovipositing or tandem.")] = "",
    remarks: Annotated[str, typer.Option(help="The characters seen.")] = "",
    second_opinion: Annotated[
        bool, typer.Option("--second-opinion", help="Ask for somebody else's look.")
    ] = False,
    cannot_tell: Annotated[str, typer.Option(help="No name: what these photos lack.")] = "",
    not_an_adult: Annotated[str, typer.Option(help="No name: what it is instead.")] = "",
    new: options.NewDeterminer = False,
    from_table: Annotated[
        Path | None, typer.Option("--from", help="A table with one determination a row.")
    ] = None,
    json: options.Json = False,
) -> None:
    """Record a determination. Example: triage determine 3fa91c "Aeshna mixta" --by "Ida Kvist"."""
    from triage.determinations import Statement
    from triage.errors import UnknownError
    from triage.pipeline import determine as stage
    from triage.pipeline import persons
    from triage.standards.darwin_core import name_with_qualifier
    from triage.store.people import with_names

    if not by and from_table is None:
        raise UnknownError(
            "a determination needs a determiner",
            failing="--by",
            next_step='Add --by "YOUR NAME".',
        )
    with opened(survey) as here:
        if from_table is not None:
            made = stage.determine_from_table(here, from_table, by=by, now=now(), new=new)
            return say.told(made, json=json)
        statement = Statement(
            taxon=taxon,
            cannot_tell=cannot_tell,
            not_an_adult=not_an_adult,
            qualifier=qualifier,
            sex=_sex_of(sex),
            life_stage=life_stage,
            behavior=behavior,
            remarks=remarks,
            second_opinion=second_opinion,
        )
        family = persons.known_family(here, by) if new else ""
        accepted = stage.determine(here, sighting, statement, by=by, now=now(), new=new)
        say.note(family)
        said = stage.said_last(here, sighting, by)
        [reason] = with_names(here, accepted.reason)
    if json:
        say.as_json(accepted)
        return
    name = name_with_qualifier(accepted.scientific_name, accepted.qualifier)
    say.line(f"{accepted.state}: {name or '-'} ({reason})")
    say.line(f"    said by {by}: {said.sentence}")


def _sex_of(written: str) -> str:
    """The words as a table's column of sexes reads them."""
    from triage.standards.tables import CellError, sex_of

    try:
        return sex_of(written)
    except CellError as wrong:
        raise typer.BadParameter(wrong.reason, param_hint="--sex") from None


@app.command()
def correct(
    photo: Annotated[str, typer.Argument(help="At least six digits of its digest.")],
    survey: options.Survey = options.HERE,
    view: Annotated[str, typer.Option(help="dorsal, lateral, anterior, oblique, other.")] = "",
    box: Annotated[str, typer.Option(help="x0,y0,x1,y1 as fractions of the upright photo.")] = "",
    time: Annotated[str, typer.Option(help="When taken: YYYY-MM-DD or YYYY-MM-DDTHH:MM.")] = "",
    place: Annotated[str, typer.Option(help="Where taken: a site, or latitude,longitude.")] = "",
    publication: Annotated[str, typer.Option(help="Of people in it: cleared or withheld.")] = "",
    photographer: options.Photographer = "",
    new: options.NewPerson = False,
    by: options.By = "coordinator",
) -> None:
    """Correct what is known of a photo. Example: triage correct 3fa91c --view dorsal."""
    from triage.exports.standing_photos import sentence_of
    from triage.pipeline import correct as stage
    from triage.pipeline import photo_list

    given = {
        "view": view, "box": box, "time": time, "place": place, "publication": publication,
        "photographer": photographer,
    }  # fmt: skip
    said = {field: value for field, value in given.items() if value}
    with opened(survey) as here:
        done = stage.correct_all(here, photo, said, by=by, now=now(), new=new, tell=say.note)
        rows = photo_list.standing_photo(here, photo)
    for row in rows[:1]:
        say.line(f"{row.photo[:10]}  {row.view or 'no view'}  {row.publication}".rstrip())
        say.line(f"    now stands: {sentence_of(row)}")
    if done.reasons:
        say.line(f"{photo}: measured anew there: {'; '.join(done.reasons)}")
    if done.moved:
        say.line(f"    but {done.moved}{f': {done.own[:10]}' if done.own else ''}")
        if done.own and done.rest:
            both = f"{done.own[:10]} {done.rest[:10]}"
            say.line(f"    if they show one animal all the same: 'triage sightings merge {both}'")
        say.line("    'triage undo' takes the correction back")
