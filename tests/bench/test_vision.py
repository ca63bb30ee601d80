"""The figures of seeing against hand-made answers; labels and photos as hostile input."""

import base64
import dataclasses
import hashlib
import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage import data

from triage.bench.labels import Labelled, folds, read_labels, read_sets
from triage.bench.out_of_fold import out_of_fold
from triage.bench.vision import bench, order
from triage.bench.vision.figures import QUESTIONS, figures
from triage.bench.vision.predictions import Prediction
from triage.errors import SourceError, TableError

HEADER = "file,source,group,is_odonate,suborder,view,view_confidence,subject_box,body_box,focus\n"


def label(**changed: object) -> Labelled:
    plain = {
        "file": "a.jpg", "source": "s", "group": "g", "odonate": True, "suborder": "anisoptera",
        "view": "dorsal", "sure": True, "box": (0.0, 0.0, 0.5, 1.0),
        "body_box": (0.0, 0.0, 0.5, 0.5), "focus": "", "notes": "", "kind": "adult",
        "folder": Path("photos"),
    }  # fmt: skip
    return Labelled(**{**plain, **changed})  # type: ignore[arg-type]


def said(of: Labelled, **changed: object) -> Prediction:
    plain = {
        "odonate": 0.9, "anisoptera": 0.9, "pair": 0.1, "views": (0.8, 0.1, 0.0, 0.1, 0.0),
        "box": (0.0, 0.0, 0.5, 1.0), "body_box": (0.0, 0.0, 0.5, 0.5), "others": 0,
        "kind": "adult", "cross_validated": True,
    }  # fmt: skip
    return Prediction(label=of, **{**plain, **changed})  # type: ignore[arg-type]


def values(rows: list[Prediction]) -> dict[str, float]:
    return {one.name: one.value(rows) for one in QUESTIONS}


def test_second_boxes_count_for_several_insects_and_against_one():
    found = values(
        [
            said(label(notes="multi: two"), others=1),
            said(label(notes="multi: two")),
            said(label(), others=1),
            *[said(label(notes="pair: wheel")) for _ in range(3)],
            said(label(odonate=False), others=2),
        ]
    )
    assert found["several insects, share with a second box"] == 0.5
    assert found["one insect or pair, share with a second box"] == 0.25


def test_each_kind_counts_alike_and_a_pair_shows_adults():
    kinds = ("adult", "other insect", "hand", "page", "no insect")
    rows = [said(label(kind=kind), kind=kind) for kind in kinds]
    rows += [said(label(), kind="pair") for _ in range(20)]
    name = "adult, other insect, hand, page, no insect, balanced accuracy"
    assert values(rows)[name] == 1.0
    missed = [said(label(kind="hand"), kind="other insect") for _ in range(1)]
    assert values(rows + missed)[name] == pytest.approx(0.9)
    assert values(rows[:1])[name] != values(rows[:1])[name]  # no photo of the others: NaN


@pytest.mark.parametrize(
    ("odonate", "kind", "notes", "read"),
    [
        ("1", "", "", "adult"),
        ("1", "pair", "pair: wheel", "adult"),
        ("1", "hand", "in_hand", "adult"),
        ("0", "hand", "hand: moth in hand", "hand"),
        ("1", "exuvia", "emergence", "exuvia"),
        ("0", "larva", "", "exuvia"),
        ("0", "", "other insect: bee", "other insect"),
        ("0", "", "landscape", "no insect"),
    ],
)
def test_the_kind_is_read_or_told_by_the_notes(tmp_path, odonate, kind, notes, read):
    table = tmp_path / "labels.csv"
    table.write_text(
        f"file,is_odonate,kind,notes\na.jpg,{odonate},{kind},{notes}\n", encoding="utf-8"
    )
    (found,) = read_labels(table)
    assert found.kind == read
    assert found.path == tmp_path / "a.jpg"
    assert found.emerging == (kind == "exuvia")


def test_sets_are_read_in_their_order_and_a_group_is_never_divided(tmp_path):
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        rows = "".join(f"{name}{n}.jpg,g{n % 3},0\n" for n in range(6))
        (tmp_path / name / "labels.csv").write_text(
            "file,group,is_odonate\n" + rows, encoding="utf-8"
        )
    found = read_sets([tmp_path / "one", tmp_path / "two"])
    assert [one.folder.name for one in found] == ["one"] * 6 + ["two"] * 6
    held = folds(found, 3)
    assert sorted(row for fold in held for row in fold) == list(range(12))
    groups = [{found[row].group for row in fold} for fold in held]
    assert all(not a & b for n, a in enumerate(groups) for b in groups[:n])


def test_answers_that_are_all_right_give_the_best_figures():
    rows = [
        said(label()),
        said(label(view="lateral", suborder="zygoptera"), anisoptera=0.2, views=(0, 1, 0, 0, 0)),
        said(label(view="oblique"), views=(0, 0, 0, 1, 0)),
        said(label(odonate=False, suborder="", view="", box=None, body_box=None), odonate=0.1),
    ]
    found = values(rows)
    assert found["odonate or not, AUC"] == 1
    assert found["odonate at 0.5, recall"] == 1
    assert found["odonate at 0.5, false share"] == 0
    assert found["box, mean IoU"] == 1
    assert found["suborder, share right"] == 1
    assert found["sure dorsal or lateral, balanced accuracy"] == 1
    assert found["dorsal, lateral, oblique, macro-F1"] == 1


def test_a_box_twice_too_wide_overlaps_by_half():
    assert values([said(label(), box=(0.0, 0.0, 1.0, 1.0))])["box, mean IoU"] == 0.5


def test_a_labelled_skin_counts_for_no_figure_of_adults():
    skin = label(odonate=False, kind="exuvia")
    found = values([said(label()), said(skin, anisoptera=0.1, box=(0.5, 0.0, 1.0, 1.0))])
    assert found["box, mean IoU"] == 1
    assert found["body box, mean IoU"] == 1
    assert found["suborder, share right"] == 1


def test_macro_f1_by_hand():
    """Two dorsal (one taken for lateral), one lateral: F1 2/3, 2/3 and 0; mean 4/9."""
    rows = [
        said(label()),
        said(label(), views=(0.1, 0.8, 0, 0.1, 0)),
        said(label(view="lateral"), views=(0.1, 0.8, 0, 0.1, 0)),
    ]
    assert values(rows)["dorsal, lateral, oblique, macro-F1"] == pytest.approx(4 / 9)


def test_calibration_error_by_hand():
    """Two answers of confidence 0.8 of which one is right: |0.8 - 0.5|."""
    rows = [said(label()), said(label(view="lateral"))]
    assert values(rows)["view, expected calibration error"] == pytest.approx(0.3)


def test_the_interval_of_alike_groups_is_narrow_and_holds_the_value():
    rows = [said(label(group=f"g{n}")) for n in range(6)]
    boxes = next(one for one in figures(rows, draws=50) if one.name.startswith("box"))
    assert (boxes.low, boxes.value, boxes.high) == (1, 1, 1)


def test_the_same_seed_gives_the_same_intervals():
    rows = [said(label(group=f"g{n}"), box=(0.0, 0.0, 0.5 + n / 20, 1.0)) for n in range(8)]
    first, second = figures(rows, draws=40), figures(rows, draws=40)
    assert [one.row() for one in first] == [one.row() for one in second]
    boxes = next(one for one in first if one.name.startswith("box"))
    assert boxes.low < boxes.value < boxes.high


def test_every_row_of_the_shipped_table_comes_from_one_of_ten_folds():
    rows = out_of_fold()
    assert {row["fold"] for row in rows.values()} == {str(k) for k in range(10)}
    for row in rows.values():
        views = [float(row[f"p_{name}"]) for name in ("dorsal", "lateral", "anterior")]
        assert all(0 <= share <= 1 for share in (*views, float(row["odonate"])))


def test_groups_stay_whole_and_every_photo_is_in_one_fold():
    labels = [label(group=f"g{n * n % 11}") for n in range(40)]
    dealt = folds(labels, 5)
    assert sorted(row for fold in dealt for row in fold) == list(range(40))
    homes = [{labels[row].group for row in fold} for fold in dealt]
    assert sum(len(home) for home in homes) == len({one.group for one in labels})


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("a.jpg,s,g,2,,,,,,", "line 2: is_odonate must be 0 or 1"),
        ("a.jpg,s,g,1,anisoptera,ventral,,,,", "line 2: view must be one of"),
        ("a.jpg,s,g,1,beetle,,,,,", "suborder must be anisoptera or zygoptera"),
        ("a.jpg,s,g,1,,,,0;0;1,,", "subject_box: a box must be x0;y0;x1;y1"),
        ("a.jpg,s,g,1,,,,0.5;0;0.2;1,,", "subject_box: a box must lie in the photo"),
    ],
)
def test_a_label_that_makes_no_sense_is_named_with_its_line(tmp_path, row, said):
    (tmp_path / "labels.csv").write_text(HEADER + row + "\n", encoding="utf-8")
    with pytest.raises(TableError) as problem:
        read_labels(tmp_path / "labels.csv")
    assert said in str(problem.value)


def test_a_table_without_its_columns_is_refused(tmp_path):
    (tmp_path / "labels.csv").write_text("photo\na.jpg\n", encoding="utf-8")
    with pytest.raises(TableError, match="no column file, is_odonate"):
        read_labels(tmp_path / "labels.csv")


def folder_of(tmp_path: Path, rows: str) -> Path:
    Image.fromarray(data.chelsea()).save(tmp_path / "cat.jpg")
    (tmp_path / "labels.csv").write_text(HEADER + rows, encoding="utf-8")
    return tmp_path


def test_photos_that_are_new_are_looked_at_by_the_shipped_networks(tmp_path):
    folder = folder_of(tmp_path, "cat.jpg,s,g,0,,,,,,\n")
    found = bench([folder], draws=10)
    assert (found.new, found.cross_validated) == (1, 0)
    assert "1 photo new to the shipped networks" in found.lines()[0]
    assert any("| odonate at 0.5, false share | 0.000 |" in line for line in found.lines())


def test_a_photo_of_the_training_is_answered_by_what_had_not_seen_it(tmp_path, monkeypatch):
    folder = folder_of(tmp_path, "cat.jpg,s,g,0,,,,,,\n")
    row = next(iter(out_of_fold().values()))
    digest = hashlib.sha256((folder / "cat.jpg").read_bytes()).hexdigest()
    monkeypatch.setattr("triage.bench.out_of_fold.out_of_fold", lambda: {digest: row})
    honest = bench([folder], draws=5)
    assert (honest.cross_validated, honest.new) == (1, 0)
    assert "had not seen" in honest.lines()[0]


def test_a_labelled_photo_that_is_missing_is_named(tmp_path):
    folder = folder_of(tmp_path, "gone.jpg,s,g,0,,,,,,\n")
    with pytest.raises(SourceError, match=r"gone\.jpg"):
        bench([folder], draws=5)


def test_the_sheet_shows_mistakes_and_no_markup_of_the_table(tmp_path):
    bad = '"cat.jpg",s,g,1,anisoptera,dorsal,sure,0.1;0.1;0.2;0.2,,\n'
    folder = folder_of(tmp_path, bad)
    table = (folder / "labels.csv").read_text(encoding="utf-8").splitlines()
    table = [table[0] + ",notes", table[1] + ",<script>alert(1)</script>"]
    (folder / "labels.csv").write_text("\n".join(table) + "\n", encoding="utf-8")
    found = bench([folder], draws=5, sheet=tmp_path / "sheet")
    assert found.sheet is not None
    page = found.sheet.read_text(encoding="utf-8")
    assert "Odonate not seen as one (1)" in page
    assert "<script>" not in page
    picture = page.split("base64,")[1].split("'")[0]
    with Image.open(io.BytesIO(base64.b64decode(picture))) as shown:
        assert max(shown.size) <= 260


def photo(*, length: float, usability: float, **labelled: object) -> order.Judged:
    return order.Judged(label=label(focus="sharp", **labelled), length=length, usability=usability)


def test_a_pair_is_decided_only_where_one_photo_is_better_and_in_nothing_worse():
    large = photo(length=600, usability=0.9, group="a")
    small = photo(length=200, usability=0.4, group="b")
    front = photo(length=580, usability=0.6, group="c", view="anterior")
    hidden = photo(length=900, usability=0.1, group="d", view="other")
    same = photo(length=100, usability=0.1, group="a")
    found = [
        (one.label.group, other.label.group, name)
        for one, other, name in order.decided([large, small, front, hidden, same])
    ]
    # The front view is larger than the small back view, but worse in another respect.
    assert sorted(found) == [("a", "b", "length"), ("a", "c", "view"), ("b", "a", "length")]


def test_soft_photos_lose_against_sharp_ones_of_like_length():
    sharp = photo(length=500, usability=0.5, group="a")
    soft = dataclasses.replace(
        photo(length=600, usability=0.6, group="b"), label=label(group="b", focus="soft")
    )
    assert [pair[2] for pair in order.decided([sharp, soft])] == ["focus"]
    tiny = dataclasses.replace(sharp, length=300)
    assert not list(order.decided([tiny, soft]))


def test_the_error_by_chance_is_what_true_probabilities_show():
    """1,000 drawn truths: the mean of the error over draws, beside the one of drawn labels."""
    random = np.random.default_rng(8)
    sure = random.uniform(0.3, 1.0, 300)
    rows = []
    for chance in sure:
        rest = (1 - chance) / 4
        right = random.random() < chance
        rows.append(
            said(
                label(view="dorsal" if right else "lateral"), views=(chance, rest, rest, rest, rest)
            )
        )
    found, measured = values(rows), "view, expected calibration error"
    by_chance = found["the same by chance, if all were true"]
    assert 0.02 < by_chance < 0.09
    assert abs(found[measured] - by_chance) < 0.03
    skins = [said(label(odonate=False, view="dorsal"), views=(0.0, 1.0, 0.0, 0.0, 0.0))] * 50
    assert values([*rows, *skins])[measured] == found[measured]
