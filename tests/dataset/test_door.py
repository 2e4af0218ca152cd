"""Nothing is written, removed or read through a link, and only what is a dataset's own goes."""

from __future__ import annotations

import errno
import fcntl
import json
import os
import signal
import subprocess
import sys
from contextlib import suppress
from dataclasses import replace
from functools import partial

import pytest

from edgewear.dataset import door
from edgewear.dataset import manifest as manifests
from edgewear.dataset.files import write_bytes
from edgewear.dataset.lock import locked
from edgewear.errors import CannotCreate, CannotWrite, DatasetError, Locked
from edgewear.study.runner import run_study
from edgewear.study.worker_pool import inline
from support.hardships import Ended, breaking
from support.studies import bytes_of
from support.sweeper import study_in


def other_study(root):
    """Another comparison in the same folder, to which the first gives way."""
    return replace(study_in(root, seed=4), replaces=True)


@pytest.fixture
def outside(tmp_path):
    """A folder of somebody's own, with names that a dataset has too."""
    folder = tmp_path / "outside"
    for name in ("part-000001.parquet", "wear.parquet", "parts.txt", "progress.txt", "lock", "x"):
        write_bytes(folder, name, b"years of work")
    return folder


@pytest.mark.parametrize("name", ["runs", "log"])
def test_a_folder_that_is_a_link_is_neither_filled_nor_emptied(name, outside, tmp_path):
    root, before = tmp_path / "sent", bytes_of(outside)
    run_study(study_in(root), inline())
    (root / name).rename(tmp_path / "away")
    (root / name).symlink_to(outside)
    for study in (study_in(root), other_study(root)):
        with pytest.raises(DatasetError, match=name):
            run_study(study, inline())
    assert bytes_of(outside) == before


@pytest.mark.parametrize(
    "name",
    ["log/parts.txt", "log/progress.txt", "log/lock", "README.md", "runs/part-000001.parquet"],
)
@pytest.mark.parametrize("dangling", [False, True])
def test_a_file_that_is_a_link_is_never_written_through(name, dangling, outside, tmp_path):
    root, before = tmp_path / "sent", bytes_of(outside)
    run_study(study_in(root), inline())
    (root / name).unlink()
    (root / name).symlink_to(outside / ("nothing" if dangling else "x"))
    for study in (study_in(root), other_study(root)):
        with suppress(DatasetError):  # refused, or the link is replaced by a file
            run_study(study, inline())
    assert bytes_of(outside) == before


def test_a_pipe_in_the_place_of_a_file_is_refused_and_waits_for_nobody(tmp_path):
    (tmp_path / "log").mkdir()
    os.mkfifo(tmp_path / "log/lock")
    with pytest.raises(CannotCreate, match="lock"), locked(tmp_path):
        pass
    os.mkfifo(tmp_path / "x.json")
    with pytest.raises(DatasetError, match="no file"):
        door.inside(tmp_path, "x.json")


@pytest.mark.parametrize("name", ["../x", "/etc/hostname", "runs/../../x", "", "a\0b"])
def test_a_name_that_leads_out_of_the_folder_is_refused(name, tmp_path):
    for act in (
        lambda: write_bytes(tmp_path / "d", name, b""),
        lambda: door.remove(tmp_path, name),
    ):
        with pytest.raises(DatasetError):
            act()
    assert not (tmp_path / "x").exists()


def test_only_what_a_dataset_names_gives_way_to_another_study(tmp_path):
    run_study(study_in(tmp_path), inline())
    mine = [
        "runs/notes.txt",
        "edges/part-000777.parquet",
        "nominal/notes.unfinished",
        "a.unfinished",
    ]
    for name in mine:
        write_bytes(tmp_path, name, name.encode())
    run_study(other_study(tmp_path), inline())
    made = bytes_of(tmp_path)
    run_study(study_in(tmp_path / "elsewhere", seed=4), inline())
    assert [(tmp_path / name).read_text() for name in mine] == mine
    assert {n: h for n, h in made.items() if n not in mine} == bytes_of(tmp_path / "elsewhere")


def test_a_journal_that_names_other_files_removes_none(tmp_path):
    run_study(study_in(tmp_path / "d"), inline())
    wanted = bytes_of(tmp_path / "d")
    (tmp_path / "thesis").write_text("mine")
    named = ["../thesis", str(tmp_path / "thesis"), "manifest.json", "scenario.yaml", "README.md"]
    door.append(tmp_path / "d", "log/parts.txt", "".join(f"\n{n} {'0' * 64} 1 1\n" for n in named))
    (tmp_path / "d/edges/part-000003.parquet").unlink()
    run_study(study_in(tmp_path / "d"), inline())
    assert (tmp_path / "thesis").read_text() == "mine"
    assert bytes_of(tmp_path / "d") == wanted


BENT = [
    ("rows", 0), ("rows", "9"), ("rows", 10**15), ("rows", True), ("chunk_rows", 0), ("kind", "x"),
    ("chunk_rows", None), ("study", 3), ("versions", []), ("about", 1), ("failed", -1),
    ("finished", "yes"), ("model", 1.5), ("files", {"../x": {"sha256": "0" * 64, "bytes": 1,
    "rows": 1}}), ("files", {"plan.parquet": {"sha256": "0", "bytes": 1, "rows": 1}}),
    ("files", {"plan.parquet": []}), ("files", []),
    *(("files", {"plan.parquet": {"sha256": "0" * 64, "bytes": 1, "rows": 1, key: odd}})
      for key in ("bytes", "rows") for odd in (-1, 1.0, True, "1", None)),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value"), BENT)
def test_a_manifest_signed_anew_must_still_be_one(name, value, tmp_path):
    opened = manifests.opening(kind="sweep", study="0" * 64, rows=9, chunk_rows=3, about={})
    manifests.write(tmp_path, opened.closed((), 0))
    assert manifests.read(tmp_path).rows == 9
    document = json.loads((tmp_path / manifests.NAME).read_text())
    del document["sha256"]
    document[name] = value
    signed = {**document, "sha256": manifests._digest(document)}
    (tmp_path / manifests.NAME).write_text(json.dumps(signed))
    with pytest.raises(DatasetError, match=r"manifest\.json"):
        manifests.read(tmp_path)


def broken_off_and_run_again(root, place, error, reference):
    with pytest.MonkeyPatch.context() as patch:
        done = breaking(patch, place, error)
        try:
            run_study(study_in(root), inline())
        except (DatasetError, Ended):
            assert done[0] >= place
    run_study(study_in(root), inline())
    assert bytes_of(root) == reference
    assert not list(root.rglob(f"*{door.TEMPORARY}"))


@pytest.fixture(scope="module")
def reference(tmp_path_factory):
    root = tmp_path_factory.mktemp("reference")
    run_study(study_in(root), inline())
    return bytes_of(root)


FAULTS = (errno.ENOSPC, errno.EIO, Ended)


@pytest.mark.parametrize("error", FAULTS)
@pytest.mark.parametrize("place", [1, 5, 20, 200])
def test_a_call_that_fails_or_ends_the_process_loses_nothing(place, error, reference, tmp_path):
    broken_off_and_run_again(tmp_path / "d", place, error, reference)


@pytest.mark.long
@pytest.mark.parametrize("error", FAULTS)
@pytest.mark.parametrize("seed", range(16))
def test_every_call_that_writes_may_fail_or_end_the_process(seed, error, reference, tmp_path):
    with pytest.MonkeyPatch.context() as patch:
        calls = breaking(patch, 0, errno.EIO)
        run_study(study_in(tmp_path / "counted"), inline())
    for place in range(1 + seed, calls[0] + 1, 16):
        broken_off_and_run_again(tmp_path / str(place), place, error, reference)


def left(folder, name, content=b"half"):
    """What a process that was killed leaves of a file it was writing."""
    path = folder / f"{name}.4711{door.TEMPORARY}"
    path.write_bytes(content)
    return path


def test_what_a_killed_process_left_of_a_file_goes_when_the_file_is_written_again(tmp_path):
    killed, other = left(tmp_path, "report.html"), left(tmp_path, "wear.svg")
    alike = [tmp_path / name for name in (
        "report.html.unfinished", "report.html.12a.unfinished", "report.html.4711",
        "a report.html.4711.unfinished", "report.html.4711.unfinished.bak",
    )]  # fmt: skip
    for path in alike:
        path.write_bytes(b"somebody's own")
    write_bytes(tmp_path, "report.html", b"whole")
    assert not killed.exists()
    assert other.exists()
    assert all(path.read_bytes() == b"somebody's own" for path in alike)
    write_bytes(tmp_path, "wear.svg", b"whole")
    assert not other.exists()


def test_what_only_looks_like_a_file_half_written_stays(outside, tmp_path):
    """A link and what it leads to, a folder, a pipe: no write of ours leaves those."""
    before = bytes_of(outside)
    names = [tmp_path / f"x.{number}{door.TEMPORARY}" for number in (1, 2, 3, os.getpid())]
    names[0].symlink_to(outside / "x")
    names[1].mkdir()
    os.mkfifo(names[2])
    write_bytes(tmp_path, "x", b"whole")
    assert all(name.is_symlink() or name.exists() for name in names[:3])
    names[3].symlink_to(outside / "x")
    with pytest.raises(DatasetError, match="exists"):
        write_bytes(tmp_path, "x", b"more")
    assert (tmp_path / "x").read_bytes() == b"whole"
    assert bytes_of(outside) == before


INNER = """
import sys, pathlib
from edgewear.dataset.files import write_bytes
write_bytes(pathlib.Path(sys.argv[1]), "x", b"inner")
"""


def test_a_file_that_somebody_writes_at_this_moment_is_not_taken_for_left(tmp_path):
    """A write within a write, as two processes may: both end, and the later one stays."""

    def outer(stream):
        stream.write(b"outer")
        subprocess.run([sys.executable, "-c", INNER, tmp_path], check=True)
        assert (tmp_path / "x").read_bytes() == b"inner"

    door.write_whole(tmp_path, "x", outer)
    assert bytes_of(tmp_path).keys() == {"x"}
    assert (tmp_path / "x").read_bytes() == b"outer"


def test_one_writes_to_a_folder_and_after_them_another(tmp_path):
    for _ in range(2):
        with locked(tmp_path):
            with pytest.raises(Locked, match="another process writes"), locked(tmp_path):
                pass
            with locked(tmp_path / "other"):
                pass


def test_a_folder_that_is_missing_is_made_before_it_is_locked(tmp_path):
    root = tmp_path / "new" / "study"
    with locked(root):
        assert (root / "log/lock").is_file()


def test_what_a_folder_holds_is_told_in_order_and_a_disk_that_fails_is_said(tmp_path, monkeypatch):
    for name in ("runs/b", "runs/a", "plan"):
        write_bytes(tmp_path, name, b"")
    assert door.names_in(tmp_path, "runs") == ["a", "b"]
    assert door.names_in(tmp_path) == ["plan", "runs"]
    for nothing in ("none", "plan", "runs/none"):
        assert door.names_in(tmp_path, nothing) == []

    def broken(handle):
        raise OSError(errno.EIO, "the disk fails")

    monkeypatch.setattr(os, "listdir", broken)
    with pytest.raises(DatasetError, match="runs: cannot be read: the disk fails"):
        door.names_in(tmp_path, "runs")


def test_a_pipe_in_the_place_of_the_whole_folder_holds_nothing_and_waits_for_nobody(tmp_path):
    os.mkfifo(tmp_path / "pipe")

    def waits(*_):
        raise AssertionError("it waits for somebody to write")

    before = signal.signal(signal.SIGALRM, waits)
    signal.alarm(5)  # s; it takes no time where nothing waits
    try:
        assert door.names_in(tmp_path / "pipe") == []
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def test_a_stream_says_how_many_bytes_it_took_as_any_other(tmp_path):
    took = []
    pieces = (b"", b"abc", memoryview(b"12345678").cast("I"))  # two numbers, eight bytes
    door.write_whole(tmp_path, "x", lambda stream: took.extend(map(stream.write, pieces)))
    assert took == [0, 3, 8]
    assert (tmp_path / "x").read_bytes() == b"abc12345678"


OURS = {errno.EACCES, errno.EPERM, errno.EROFS, errno.ENOTDIR, errno.EISDIR}
"""What the caller could mend by choosing another place."""

FULL = {errno.ENOSPC, errno.EDQUOT}


@pytest.mark.parametrize("code", sorted(OURS | FULL | {errno.EIO, errno.EMFILE}))
def test_a_write_that_fails_is_told_as_no_place_or_as_a_broken_disk(code, tmp_path, monkeypatch):
    """For a folder only a full disk is the disk's own."""

    def broken(*_, **__):
        raise OSError(code, "so it is")

    said = "x: cannot be written: so it is"
    with pytest.raises(DatasetError, match=said) as told, door.writing(tmp_path / "x"):
        broken()
    assert type(told.value) is (CannotCreate if code in OURS else CannotWrite)
    monkeypatch.setattr(type(tmp_path), "mkdir", broken)
    with pytest.raises(DatasetError, match="x: cannot make this folder: so it is") as told:
        door.make_folder(tmp_path / "x")
    assert type(told.value) is (CannotWrite if code in FULL else CannotCreate)


def test_an_error_of_ours_goes_through_as_it_is(tmp_path):
    with pytest.raises(Locked, match="mine"), door.writing(tmp_path):
        raise Locked("mine")
    with pytest.raises(CannotWrite, match="cannot be written: no words"), door.writing(tmp_path):
        raise OSError("no words")


@pytest.mark.parametrize("there", [None, "file", "link", "dangling"])
def test_what_is_written_once_takes_the_place_of_nothing(there, outside, tmp_path):
    before, place = bytes_of(outside), tmp_path / "d" / "once.json"
    place.parent.mkdir()
    if there == "file":
        place.write_bytes(b"first")
    elif there is not None:
        place.symlink_to(outside / ("x" if there == "link" else "nothing"))
    write = partial(door.write_whole, place.parent, place.name, lambda stream: stream.write(b"it"))
    if there is None:
        write(once="is there")
        assert place.read_bytes() == b"it"
    else:
        with pytest.raises(CannotCreate, match=r"once\.json: is there$"):
            write(once="is there")
        write()  # in its place, not through it
        assert place.read_bytes() == b"it"
        assert not place.is_symlink()
    assert [path.name for path in place.parent.iterdir()] == [place.name]
    assert bytes_of(outside) == before


@pytest.mark.parametrize("mode", [None, 0o600, 0o640])
def test_a_file_has_the_rights_that_are_asked_for_else_those_of_the_mask(mode, tmp_path):
    before = os.umask(0o022)
    try:
        door.write_whole(tmp_path, "x", lambda stream: stream.write(b"it"), mode=mode)
    finally:
        os.umask(before)
    assert (tmp_path / "x").stat().st_mode & 0o777 == (0o644 if mode is None else mode)


def test_what_is_added_stands_behind_what_was_there_and_what_is_removed_is_gone(outside, tmp_path):
    before = bytes_of(outside)
    for text in ("one\n", "", "två\n"):
        door.append(tmp_path, "log/it.txt", text)
    assert (tmp_path / "log/it.txt").read_text("utf-8") == "one\ntvå\n"
    (tmp_path / "link").symlink_to(outside / "x")
    assert [door.remove(tmp_path, name) for name in ("log/it.txt", "link", "link", "no/such")] == [
        True, True, False, False]  # fmt: skip
    assert door.names_in(tmp_path) == ["log", "outside"]  # to remove, no folder is made
    assert bytes_of(outside) == before
    (tmp_path / "away").symlink_to(outside)
    with pytest.raises(CannotCreate, match="away: a link"):
        door.remove(tmp_path, "away/x")
    with pytest.raises(DatasetError, match="away: is a link"):
        door.inside(tmp_path, "away/x")
    assert bytes_of(outside) == before


@pytest.mark.parametrize("kind", ["link", "pipe", "folder"])
def test_a_file_that_stays_open_is_a_file(kind, outside, tmp_path):
    place = tmp_path / "it"
    if kind == "link":
        place.symlink_to(outside / "x")
    elif kind == "pipe":
        os.mkfifo(place)
    else:
        place.mkdir()
    for flags in (os.O_RDWR, os.O_WRONLY, os.O_RDONLY):
        with pytest.raises(CannotCreate, match="it: "), door.kept_open(tmp_path, "it", flags):
            pass


def test_what_is_added_is_on_the_disk_when_it_is_said_to_be(tmp_path, monkeypatch):
    """A line of a journal that a power loss takes back would be a part that nobody knows of."""
    done = []
    for name in ("write", "fsync"):
        call = getattr(os, name)
        monkeypatch.setattr(os, name, partial(_noted, done, name, call))
    door.append(tmp_path, "it", "line")
    assert done == ["write", "fsync"]


def _noted(done, name, call, *given):
    done.append(name)
    return call(*given)


def test_nothing_stays_open_behind_a_write(outside, tmp_path):
    """A study of a million parts has a thousand open files at most."""
    (tmp_path / "away").symlink_to(outside)
    left(tmp_path, "x")
    before = len(os.listdir("/proc/self/fd"))
    for acts in (
        lambda: write_bytes(tmp_path, "a/b/x", b"it"),
        lambda: write_bytes(tmp_path, "x", b"it"),
        lambda: write_bytes(tmp_path, "away/x", b"it"),
        lambda: door.append(tmp_path, "a/it", "it"),
        lambda: door.names_in(tmp_path, "a/b"),
        lambda: door.names_in(tmp_path, "no/such"),
        lambda: door.remove(tmp_path, "a/b/x"),
        lambda: door.write_whole(tmp_path, "x", lambda stream: None, once="is there"),
    ):
        with suppress(DatasetError):
            acts()
        assert len(os.listdir("/proc/self/fd")) == before


def test_a_file_in_the_place_of_a_folder_is_told_as_what_is_in_the_way(outside, tmp_path):
    before = bytes_of(outside)
    with pytest.raises(CannotCreate, match="x: a link, or something else that is no file"):
        write_bytes(outside, "x/part", b"it")
    assert bytes_of(outside) == before


def test_a_file_taken_for_left_behind_before_it_was_locked_is_begun_once_more(
    tmp_path, monkeypatch
):
    lock, taken = fcntl.flock, []

    def late(handle, how):
        if not taken:
            taken.extend(path.name for path in tmp_path.iterdir())
            (tmp_path / taken[0]).unlink()
        lock(handle, how)

    monkeypatch.setattr(fcntl, "flock", late)
    before = len(os.listdir("/proc/self/fd"))
    write_bytes(tmp_path, "x", b"whole")
    assert len(taken) == 1
    assert (tmp_path / "x").read_bytes() == b"whole"
    assert len(os.listdir("/proc/self/fd")) == before
