"""The folder of results appears whole or not at all, whatever goes wrong half way."""

from __future__ import annotations

import errno
import json
import os
import signal
import stat
from pathlib import Path

import pytest

from fit.output import CannotWrite, contents, strangers, whole_folder

OLD = {"sheets.pdf": b"old sheets", "faces/front.dxf": b"old front"}


def _fill(folder: Path, files: dict[str, bytes]) -> None:
    for name, data in files.items():
        (folder / name).parent.mkdir(exist_ok=True, parents=True)
        (folder / name).write_bytes(data)
    listed = [{"path": name} for name in files]
    (folder / "report.json").write_text(json.dumps({"fit": "0", "files": listed}))


def _all(folder: Path) -> dict[str, bytes]:
    return {
        p.relative_to(folder).as_posix(): p.read_bytes()
        for p in sorted(folder.rglob("*"))
        if p.is_file()
    }


@pytest.fixture
def target(tmp_path: Path) -> Path:
    """A folder of earlier results, alone in its parent."""
    folder = tmp_path / "results" / "hive"
    folder.mkdir(parents=True)
    _fill(folder, OLD)
    return folder


def _alone(target: Path) -> bool:
    return [p.name for p in target.parent.iterdir()] == [target.name]


def test_the_new_folder_takes_the_place_of_the_old(target: Path) -> None:
    with whole_folder(target) as work:
        assert work.parent == target.parent, "same disk, or the rename would be a copy"
        _fill(work, {"sheets.pdf": b"new"})
        assert _all(target)["sheets.pdf"] == b"old sheets"
    assert set(_all(target)) == {"sheets.pdf", "report.json"}
    assert (target / "sheets.pdf").read_bytes() == b"new"
    assert _alone(target)


def test_a_new_folder_is_made_with_those_above_it_and_the_usual_rights(tmp_path: Path) -> None:
    target = tmp_path / "a" / "b" / "c"
    with whole_folder(target) as work:
        _fill(work, {"x.svg": b"x"})
    assert contents(target)[1].path == "x.svg"
    (tmp_path / "plain").mkdir()
    assert stat.S_IMODE(target.stat().st_mode) == stat.S_IMODE((tmp_path / "plain").stat().st_mode)


class Broken(Exception):
    """A writer that fails in a way nobody foresaw."""


def _write_half(target: Path, error: BaseException) -> None:
    with whole_folder(target) as work:
        (work / "sheets.pdf").write_bytes(b"half")
        raise error


@pytest.mark.parametrize("error", [Broken, KeyboardInterrupt, SystemExit, MemoryError])
def test_a_writer_that_breaks_half_way_changes_nothing(
    target: Path, error: type[BaseException]
) -> None:
    before = _all(target)
    with pytest.raises(error):
        _write_half(target, error())
    assert _all(target) == before
    assert _alone(target)


def test_a_writer_that_breaks_leaves_no_new_folders(tmp_path: Path) -> None:
    with pytest.raises(Broken), whole_folder(tmp_path / "a" / "b" / "c"):
        raise Broken
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("number", "told"),
    [(errno.ENOSPC, "the disk is full"), (errno.EROFS, "read-only"), (errno.EIO, "error")],
)
def test_a_disk_that_refuses_is_told_plainly(target: Path, number: int, told: str) -> None:
    before = _all(target)
    with pytest.raises(CannotWrite, match=told):
        _write_half(target, OSError(number, os.strerror(number)))
    assert _all(target) == before
    assert _alone(target)


@pytest.mark.parametrize("second", [OSError(errno.EACCES, "no"), OSError(errno.EIO, "bad")])
def test_when_the_second_rename_fails_the_old_folder_comes_back(
    target: Path, second: OSError, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = _all(target)
    real = Path.rename

    def rename(self: Path, to: Path) -> Path:
        if ".new-" in self.name:
            raise second
        return real(self, to)

    monkeypatch.setattr(Path, "rename", rename)
    with pytest.raises(CannotWrite), whole_folder(target) as work:
        (work / "sheets.pdf").write_bytes(b"new")
    assert _all(target) == before
    assert _alone(target)


def test_ctrl_c_during_the_swap_waits_until_it_is_done(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = Path.rename

    def rename(self: Path, to: Path) -> Path:
        moved = real(self, to)
        signal.raise_signal(signal.SIGINT)
        return moved

    monkeypatch.setattr(Path, "rename", rename)
    with pytest.raises(KeyboardInterrupt), whole_folder(target) as work:
        _fill(work, {"sheets.pdf": b"new"})
    assert (target / "sheets.pdf").read_bytes() == b"new"
    assert _alone(target)


def test_another_run_that_gets_in_between_is_replaced(
    target: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = Path.rename
    rivals = [b"rival"]

    def rename(self: Path, to: Path) -> Path:
        if ".new-" in self.name and rivals:
            to.mkdir()
            (to / "sheets.pdf").write_bytes(rivals.pop())
        return real(self, to)

    monkeypatch.setattr(Path, "rename", rename)
    with whole_folder(target) as work:
        _fill(work, {"sheets.pdf": b"new"})
    assert (target / "sheets.pdf").read_bytes() == b"new"
    assert _alone(target)


def test_a_file_in_the_way_is_left_alone(tmp_path: Path) -> None:
    target = tmp_path / "notes"
    target.write_text("mine")
    with pytest.raises(CannotWrite, match="is a file"), whole_folder(target):
        raise AssertionError("must not get this far")
    assert target.read_text() == "mine"


def test_a_path_that_leads_through_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "notes").write_text("mine")
    with pytest.raises(CannotWrite, match="file"), whole_folder(tmp_path / "notes" / "out"):
        raise AssertionError("must not get this far")


@pytest.mark.parametrize("name", ["diary.txt", "faces/extra.dxf", "deep/er/still.md"])
def test_a_folder_with_somebodys_own_files_is_refused(target: Path, name: str) -> None:
    (target / name).parent.mkdir(exist_ok=True, parents=True)
    (target / name).write_text("mine")
    assert strangers(target) == (name,)
    with pytest.raises(CannotWrite, match=name), whole_folder(target):
        raise AssertionError("must not get this far")
    assert (target / name).read_text() == "mine"


@pytest.mark.parametrize(
    "text", ["", "not json", "[]", "null", '{"files": []}', '{"fit": "0", "files": [1]}']
)
def test_a_report_that_is_not_ours_protects_the_folder(tmp_path: Path, text: str) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "report.json").write_text(text)
    with pytest.raises(CannotWrite, match=r"report\.json"), whole_folder(tmp_path / "out"):
        raise AssertionError("must not get this far")


def test_a_link_among_the_results_is_somebodys_own(target: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "keep").write_text("mine")
    (target / "link").symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    assert strangers(target) == ("link",)


def test_traces_of_a_file_manager_do_not_stand_in_the_way(target: Path) -> None:
    (target / ".DS_Store").write_bytes(b"\0")
    with whole_folder(target) as work:
        _fill(work, {"x": b"x"})
    assert not (target / ".DS_Store").exists()


def test_a_link_to_the_folder_stays_a_link(target: Path, tmp_path: Path) -> None:
    link = tmp_path / "latest"
    link.symlink_to(target, target_is_directory=True)
    with whole_folder(link) as work:
        _fill(work, {"sheets.pdf": b"new"})
    assert link.is_symlink()
    assert (target / "sheets.pdf").read_bytes() == b"new"


def test_the_working_folder_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    with pytest.raises(CannotWrite, match="working folder"), whole_folder(Path()):
        raise AssertionError("must not get this far")


def test_contents_tells_the_sha256_that_the_standard_gives(tmp_path: Path) -> None:
    # FIPS 180-4 example: the SHA-256 of "abc".
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "abc").write_bytes(b"abc")
    (tmp_path / "a").write_bytes(b"")
    assert [(w.path, w.sha256) for w in contents(tmp_path)] == [
        ("a", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        ("b/abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    ]
