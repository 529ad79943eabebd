"""The page on accepting findings is played from top to bottom, and shows what comes of it.

Run as a program, this file puts the current answers into the page.
"""

import contextlib
import io
import re
import sys
import tempfile
from pathlib import Path

import pytest

from orchq.cli.app import main
from orchq.settings.settings_file import KEYS

PAGE = Path(__file__).parents[2] / "orchq" / "docs" / "accepting-findings.md"
BLOCK = re.compile(
    r"`(?P<file>[\w.-]+)`:\n\n```(?:turtle|toml)\n(?P<content>.*?)```"
    r"|(?P<edit>`(?P<old>\S+)`\s+becomes\s+`(?P<new>\S+)`\s+in\s+`(?P<edited>\S+)`)"
    r"|(?P<ask><!-- ends with (?P<code>\d) -->\n```sh\norchq (?P<command>.*?)\n```\n\n```text\n)"
    r"(?P<answer>.*?)```"
    r"|(?P<show>`(?P<shown>[\w.-]+)` now holds:\n\n<!-- shown -->\n```json\n)(?P<holds>.*?)```",
    re.DOTALL,
)


def played(page: str, folder: Path) -> str:
    """Write the files, run the commands, and return the page with what they print now."""

    def play(block: re.Match[str]) -> str:
        if block["file"]:
            (folder / block["file"]).write_text(block["content"], encoding="utf-8")
        elif block["edit"]:
            path = folder / block["edited"]
            path.write_text(path.read_text().replace(block["old"], block["new"]))
        elif block["ask"]:
            return f"{block['ask']}{answer(block['command'], int(block['code']))}```"
        else:
            return f"{block['show']}{(folder / block['shown']).read_text(encoding='utf-8')}```"
        return block[0]

    with contextlib.chdir(folder):
        return BLOCK.sub(play, page)


def answer(command: str, code: int) -> str:
    printed = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    with contextlib.redirect_stdout(printed):
        assert main(command.split()) == code, command
    printed.seek(0)
    return re.sub(r"; \d+\.\d s", "", printed.read())


@pytest.mark.long
def test_the_page_shows_what_the_program_does(tmp_path):
    page = PAGE.read_text(encoding="utf-8")
    assert len(BLOCK.findall(page)) == 10
    assert played(page, tmp_path) == page, (
        f"{PAGE.name} is stale: python tests/cli/test_accepting_page.py renews it"
    )


@pytest.mark.parametrize("key", KEYS)
def test_the_page_names_every_setting(key):
    assert re.search(rf"^\| `\[*{key}\]*` \|", PAGE.read_text(encoding="utf-8"), re.MULTILINE)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        text = played(PAGE.read_text(encoding="utf-8"), Path(name))
    PAGE.write_text(text, encoding="utf-8")
    sys.exit()
