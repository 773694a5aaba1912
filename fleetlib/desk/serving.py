"""The weekly page's server: `python -m fleetlib.desk.serving`, started by `lab` and never by hand."""

from __future__ import annotations

import asyncio
import sys
import time
from typing import Any

# A check of addresses that nothing here asks for: reading its grammar would take longer than the rest of the server.
sys.modules["rfc3987_syntax"] = None  # type: ignore[assignment]

from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager  # noqa: E402

from fleetlib.desk.lab import PAGE  # noqa: E402

_WAITING_S, _LOOKING_S = 150.0, 0.05


class Pages(AsyncLargeFileManager):
    """The page's folder. Who asks for the page while it is being laid waits for it: the browser opens meanwhile."""

    async def get(self, path: str, *what: Any, **more: Any) -> Any:
        end = time.monotonic() + _WAITING_S
        while (
            path.strip("/") == PAGE and not await self.file_exists(path) and time.monotonic() < end
        ):
            await asyncio.sleep(_LOOKING_S)
        return await super().get(path, *what, **more)


if __name__ == "__main__":
    from jupyterlab.labapp import main  # type: ignore[import-untyped]

    sys.exit(main())
