"""Wrong use: exit code 2, one clear message on stderr, nothing on stdout, no traceback."""

import subprocess
import sys
from pathlib import Path

import pytest

from monitor.cli import main

ROOT = Path(__file__).parent.parent.parent
LAND_RIG = str(ROOT / "config" / "land_rig.toml")
RECORD = "time,deadline_tension [kN],block_position [m]\n2026-03-01T00:00:00Z,100,5\n"


def refusal(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """Message of a command that must be refused."""
    try:
        status = main(words)
    except SystemExit as stop:  # argparse leaves this way
        status = int(stop.code or 0)
    said = capsys.readouterr()
    assert status == 2
    assert said.out == ""
    assert said.err.startswith("hookload: ")
    assert "Traceback" not in said.err
    return said.err


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("--speed", "500"), "--speed: 500: give 0.25 to 240"),
        (("--bit-depth", "deep"), "--bit-depth"),
        (("--start", "yesterday"), "yesterday"),
        (("--acts", "gone.csv"), "gone.csv"),
        (("--tally", "gone.csv"), "gone.csv"),
        (("gone.csv",), "gone.csv"),
    ],
)
def test_replay_says_what_is_wrong_before_it_starts(
    capsys: pytest.CaptureFixture[str], words: tuple[str, ...], expected: str
) -> None:
    record = str(ROOT / "replay_data" / "trip_out.csv.gz")
    assert expected in refusal(capsys, "replay", record, "--rig", LAND_RIG, *words)


def test_replay_names_a_file_that_is_not_there(capsys: pytest.CaptureFixture[str]) -> None:
    assert "gone.csv" in refusal(capsys, "replay", "gone.csv", "--rig", LAND_RIG)


@pytest.mark.parametrize("source", ["las:a.las", "wits:10.0.0.1:5000", "wits-listen:5000"])
def test_later_sources_say_so(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, source: str
) -> None:
    words = ("record", "--rig", LAND_RIG, "--source", source, "--data", str(tmp_path))
    assert "not in this version" in refusal(capsys, *words)


@pytest.mark.parametrize("suffix", [".las"])
def test_later_export_formats_say_so(capsys: pytest.CaptureFixture[str], suffix: str) -> None:
    span = ("--from", "2026-03-01T00:00:00Z", "--to", "2026-03-02T00:00:00Z")
    said = refusal(capsys, "export", "--data", "d", *span, "--out", f"x{suffix}")
    assert "not in this version" in said


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["analyze"], "analyze"),
        (["analyse"], "required"),
        (["analyse", "x.csv", "--rig", LAND_RIG, "--ou", "d"], "--ou"),
        (["serve", "--port", "many"], "--port"),
        (["serve", "--port", "80500"], "80500 is no port"),
        (["simulate", "trip_out", "--seed", "a", "--out", "x.csv"], "--seed"),
        (["simulate", "sailing", "--seed", "1", "--out", "x.csv"], "trip_out"),
        (["simulate", "trip_out", "--seed", "1", "--hours", "-1", "--out", "x.csv"], "--hours"),
        (["simulate", "trip_out", "--seed", "1", "--out", "x.txt"], ".csv"),
        (["rig", "absent.toml"], "absent.toml"),
        (["rig", LAND_RIG, "--load", "300"], "--load: '300' has no unit"),
        (["rig", LAND_RIG, "--load", "300 ft"], "force"),
        (["rig", LAND_RIG, "--load", "-5 kN"], "negative"),
        (["bench", "--hours", "0"], "--hours"),
        (["demo", "--scenario", "sailing"], "trip_out"),
        (["--scenario", "sailing"], "trip_out"),
    ],
)
def test_wrong_words_are_named(
    capsys: pytest.CaptureFixture[str], words: list[str], expected: str
) -> None:
    assert expected in refusal(capsys, *words)


def test_every_fault_of_a_rig_file_is_listed(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "rig.toml"
    path.write_text('[rig]\nname = "X"\n[reeving]\nlines_strung = 99\nsheave_eficiency = 0.9\n')
    said = refusal(capsys, "rig", str(path))
    for fault in ("rig.travelling_weight", "reeving.lines_strung: 99", "sheave_eficiency"):
        assert fault in said


@pytest.mark.parametrize("content", [b"\x89PNG\x00\x01\xff\xfe", b"[rig\n", b""])
def test_a_rig_file_that_is_none_is_refused(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, content: bytes
) -> None:
    path = tmp_path / "rig.toml"
    path.write_bytes(content)
    assert "rig.toml" in refusal(capsys, "rig", str(path))


def analysis_refusal(
    capsys: pytest.CaptureFixture[str], folder: Path, content: bytes, *more: str
) -> str:
    record = folder / "record.csv"
    record.write_bytes(content)
    out = folder / "out"
    said = refusal(capsys, "analyse", str(record), "--rig", LAND_RIG, "--out", str(out), *more)
    assert not list(out.glob("*"))
    return said


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"time,deadline_tension [kN],block_position [m]\n",
        b"time,deadline_tension [kN],block_position [m]\nnever,1,2\n",
        b"time,deadline_tension [furlong],block_position [m]\n2026-03-01T00:00:00Z,1,2\n",
        b"time,block_position [m]\n2026-03-01T00:00:00Z,2\n",
        b"time,deadline_tension [kN],block_position [m]\n2026-03-01T00:00:00,1,2\n",
        b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR",
        b"\x1f\x8bnot gzip at all",
    ],
    ids=["empty", "no row", "bad time", "unit", "no load", "no zone", "binary", "broken gzip"],
)
def test_a_record_without_a_usable_row_is_refused_and_nothing_is_written(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, content: bytes
) -> None:
    assert "record.csv" in analysis_refusal(capsys, tmp_path, content)


def test_a_folder_or_an_absent_file_is_no_record(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    for path in (tmp_path, tmp_path / "absent.csv"):
        said = refusal(
            capsys, "analyse", str(path), "--rig", LAND_RIG, "--out", str(tmp_path / "o")
        )
        assert str(path) in said


def test_options_of_an_analysis_are_checked(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    good = RECORD.encode()
    assert "--bit-depth" in analysis_refusal(capsys, tmp_path, good, "--bit-depth", "3000")
    acts = tmp_path / "acts.csv"
    acts.write_text("time,act,value,who\n2026-03-01T00:00:00Z,dance,,me\n")
    assert "dance" in analysis_refusal(capsys, tmp_path, good, "--acts", str(acts))


def test_an_output_folder_that_cannot_be_is_refused(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    record = tmp_path / "record.csv"
    record.write_text(RECORD)
    said = refusal(capsys, "analyse", str(record), "--rig", LAND_RIG, "--out", str(record / "out"))
    assert "record.csv" in said


def test_a_data_folder_that_cannot_be_is_refused(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "file"
    path.write_text("")
    words = ("--rig", LAND_RIG, "--source", "simulate:trip_out?seed=1", "--data")
    for folder in (path, path / "below"):
        assert "file" in refusal(capsys, "record", *words, str(folder))


def test_the_module_runs_and_a_closed_pipe_is_no_fault() -> None:
    command = f"{sys.executable} -m monitor.cli rig {LAND_RIG} --json | head -c 1"
    done = subprocess.run(
        ["bash", "-o", "pipefail", "-c", command],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (0, "{", "")


@pytest.mark.parametrize("words", [["--help"], ["analyse", "--help"], ["--version"]])
def test_help_is_on_stdout(capsys: pytest.CaptureFixture[str], words: list[str]) -> None:
    with pytest.raises(SystemExit, match="0"):
        main(words)
    assert "hookload" in capsys.readouterr().out
