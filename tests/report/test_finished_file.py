"""A file of ours is whole or not there."""

from pathlib import Path

import pytest

from monitor.report.finished_file import OutputError, finished_file, output_folder


def test_a_fault_midway_leaves_the_old_file_and_no_part(tmp_path: Path) -> None:
    path = tmp_path / "events.csv"
    path.write_text("old")

    def write_half() -> None:
        with finished_file(path) as part:
            part.write_text("half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_half()
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_under_the_name_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="is a folder"), finished_file(tmp_path):
        pass


def test_a_missing_folder_is_refused_with_the_path(tmp_path: Path) -> None:
    with (
        pytest.raises(OutputError, match=r"absent.*cannot be written"),
        finished_file(tmp_path / "absent" / "x.csv"),
    ):
        pass


def test_a_file_where_the_output_folder_should_be_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "out"
    path.write_text("")
    with pytest.raises(OutputError, match="is a file"):
        output_folder(path)
    with pytest.raises(OutputError, match="folder cannot be made"):
        output_folder(path / "below")


def test_the_output_folder_is_made_with_its_parents(tmp_path: Path) -> None:
    assert output_folder(tmp_path / "a" / "b").is_dir()
    assert list((tmp_path / "a" / "b").iterdir()) == []
