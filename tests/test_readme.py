"""The README says what is so: its shown output, its commands, its links."""

import argparse
import re
from pathlib import Path

from fleetlib import cli
from fleetlib.base.kit import demo_folder

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def commands() -> dict[str, argparse.ArgumentParser]:
    parser = cli._parser()
    (action,) = (a for a in parser._actions if isinstance(a, argparse._SubParsersAction))
    return dict(action.choices)


def test_the_output_shown_is_what_the_first_command_prints(capsys) -> None:
    shown = re.search(r"```\n(On the market.*?)\n```", README, re.DOTALL)
    assert shown is not None
    assert cli.main(["price", str(demo_folder())]) == 0
    assert shown.group(1) in capsys.readouterr().out


def test_every_command_line_in_it_is_understood() -> None:
    lines = re.findall("fleetlib ((?:" + "|".join(commands()) + r")[^`\n|]*)", README)
    assert len(lines) >= 8
    for line in lines:
        parts = re.findall(r'"[^"]*"|[^\s"]+', line.strip().rstrip(".,;"))
        words = [w.strip('"').rstrip(".,;") for w in parts]
        if words[0] in commands():
            cli._parser().parse_args(
                words if words[0] != "start" or len(words) > 1 else [*words, "x"]
            )


def test_every_link_and_picture_is_there_and_described() -> None:
    for words, target in re.findall(r"\[([^\]]*)\]\(([^)#]+)\)", README):
        assert words, target
        assert (ROOT / target).is_file(), target
    for words in re.findall(r"!\[([^\]]*)\]", README):
        assert len(words) > 40


def test_it_opens_with_the_job_in_one_paragraph() -> None:
    title, job = README.split("\n\n")[:2]
    assert title == "# fleetlib"
    assert "\n#" not in job
    for said in ("asking price", "markdown plan", "per hour", "what to pay", "review"):
        assert said in job
