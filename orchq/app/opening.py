"""Pages opened: a process starts to load the graph before the server itself is loaded."""

import asyncio
from collections.abc import Callable, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from orchq.app.crew import Crew
from orchq.errors import OrchqError
from orchq.lazily import lazily

if TYPE_CHECKING:
    from orchq.app import desk, serving
    from orchq.report import web
else:
    desk, serving = lazily("orchq.app", "desk", "serving")
    (web,) = lazily("orchq.report", "web")


def open_pages(
    files: Sequence[Path],
    folder: Path,
    settings: Path | None,
    *,
    port: int,
    ready: Callable[[str], None],
) -> None:
    """Serve pages until they, or a signal, end it; ``files`` are checked at once.

    ``folder``, ``port`` and ``ready`` are as for ``serve``; ``settings`` is the file to read and
    write, where the project has not one of its own. Raises ``OrchqError`` when that cannot be
    read, the port is taken, or a library is missing.
    """
    if not all(map(find_spec, ("starlette", "uvicorn"))):
        raise OrchqError("the page needs Starlette and uvicorn: pip install 'orchq[app]'")

    async def opened() -> None:
        crew = Crew()
        crew.warm_up()
        await asyncio.sleep(0)  # the process has begun, and works while modules are loaded here
        try:
            web.check_installed()
            table = desk.Desk(desk.settings_in_force(settings), settings, crew)
            await serving.serve(table, files, folder, port=port, ready=ready)
        finally:
            await crew.end()

    asyncio.run(opened())
