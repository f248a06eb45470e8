"""One file of an archive, brought into the user's cache: whole or not at all, and only when it has changed.

Only https leaves this machine, and no key and no account with it. What comes back is stored as data, never run.
"""

from __future__ import annotations

import atexit
import hashlib
import io
import json
import os
import re
import shutil
import tempfile
import time
from dataclasses import dataclass, replace
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, Mapping
from urllib.parse import urljoin, urlsplit

from ...cells.cache import user_folder
from ...cells.swapping import make_room, swap_in
from ..errors import WeatherFileError
from ..model import Progress

if TYPE_CHECKING:
    from requests import Response, Session

#: How often a connection that breaks is taken up again, and the pause before it [s].
ATTEMPTS = 4
PAUSE = 0.5
#: How long to wait for a connection and for the next bytes [s].
TIMEOUTS = (10, 30)
#: How long one file may take altogether [s].
PATIENCE = 900
#: What the cache may hold [bytes]; the files not used for longest go first.
LARGEST_CACHE = 500 * 1024**2
_REDIRECTS = 5
_THIS_MACHINE = ("localhost", "127.0.0.1", "::1")
_NOTE = "about.json"
_CONDITIONS = {"If-None-Match": "etag", "If-Modified-Since": "modified"}
_CHUNK = 64 * 1024
_PASSING = (408, 425, 429, 500, 502, 503, 504)


@dataclass(frozen=True)
class Fetched:
    """A file in the cache. at : when the archive last confirmed it. why_old : why it may be out of date, or ""."""

    path: Path
    at: datetime
    why_old: str = ""


class _Cut(Exception):
    """The connection broke before the end; the text says how."""


def fetch(address: str, largest: int, progress: Progress | None = None, fresh_for: timedelta = timedelta(0)) -> Fetched:
    """Return a file of an archive, from the cache where it has not changed.

    address : https, or http on this machine. largest : a longer answer is refused [bytes]. fresh_for : how long a
    file in the cache is used without looking whether it has changed.
    Raises :class:`~..errors.WeatherFileError` in one line where it cannot be had; the cache stays as it was.
    """
    _check_address(address)
    folder = _cache_folder() / "archive" / hashlib.sha256(address.encode()).hexdigest()[:16]
    path = folder / (re.sub(r"[^\w.-]", "", urlsplit(address).path.rsplit("/", 1)[-1]) or "data")
    known, about = _known(path)
    if known and datetime.now(timezone.utc) - known.at < fresh_for:
        return known
    try:
        found = _download(address, about, largest, progress)
    except _Cut as problem:
        if known:
            return replace(known, why_old=str(problem))
        raise WeatherFileError(f"{_host(address)} {problem}: try again later, or add a file by hand") from None
    at = datetime.now(timezone.utc)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if found is not None:
            content, headers = found
            swap_in(path, content)
            about = {"etag": headers.get("ETag"), "modified": headers.get("Last-Modified"), "size": len(content)}
        swap_in(folder / _NOTE, json.dumps({**about, "at": at.isoformat()}).encode())
        os.utime(path)
        make_room(folder.parent.glob("*/*"), LARGEST_CACHE)
    except OSError as error:
        raise WeatherFileError(f"{folder} cannot be written: {error.strerror or error}") from None
    return Fetched(path, at)


def forget(fetched: Fetched) -> None:
    """Take a file out of the cache that turned out to be broken."""
    fetched.path.unlink(missing_ok=True)


def _check_address(address: str) -> None:
    parts = urlsplit(address)
    if not (
        parts.hostname and (parts.scheme == "https" or (parts.scheme == "http" and parts.hostname in _THIS_MACHINE))
    ):
        raise WeatherFileError(f"{address[:60]} is no address to fetch from, wanted one that starts with https://")


def _host(address: str) -> str:
    return urlsplit(address).hostname or address


def _cache_folder() -> Path:
    """Return the folder of fetched files; where none is to be kept, one that goes when the program ends."""
    folder = user_folder()
    if folder is None:
        folder = Path(tempfile.mkdtemp(prefix="sheetfuncs-"))
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def _known(path: Path) -> tuple[Fetched | None, dict[str, Any]]:
    """Return a file as it is in the cache and what is noted of it; ``None`` where one of them cannot be read."""
    try:
        about = json.loads((path.parent / _NOTE).read_text("utf-8"))
        at = datetime.fromisoformat(about["at"])
        if path.stat().st_size == about["size"] and at.tzinfo is not None:
            return Fetched(path, at), about
    except (OSError, ValueError, KeyError, TypeError):
        pass
    return None, {}


def _download(
    address: str, about: dict[str, Any], largest: int, progress: Progress | None
) -> tuple[bytes, Mapping[str, str]] | None:
    """Return a whole answer and its headers, ``None`` where the file is still as it is noted.

    A connection that breaks is taken up again where it broke. Raises :class:`_Cut` where it stays broken.
    """
    conditions = {header: about[key] for header, key in _CONDITIONS.items() if about.get(key)}
    deadline = time.monotonic() + PATIENCE
    part, validator, problem = io.BytesIO(), "", _Cut()
    with _session() as session:
        for attempt in range(ATTEMPTS):
            # How long to wait is not the server's to say.
            time.sleep(PAUSE * 2**attempt if attempt else 0)
            start = part.tell() if validator else 0
            wanted = {"Range": f"bytes={start}-", "If-Range": validator} if start else conditions
            try:
                with _response(session, address, wanted) as response:
                    if response.status_code == 304 and not start:
                        return None
                    if not response.headers.get("Content-Range", "").startswith(f"bytes {start}-"):
                        start = 0
                    part.seek(start)
                    part.truncate()
                    etag = response.headers.get("ETag", "")
                    # A weak validator does not promise the same bytes.
                    validator = etag if not etag.startswith("W/") else ""
                    _receive(response, part, largest, deadline, progress)
                    return part.getvalue(), response.headers
            except _Cut as cut:
                problem = cut
    raise problem


def _session() -> Session:
    """Return a session that follows no redirect to where it may not."""
    import requests

    def check(response: Response, **_: object) -> None:
        if response.is_redirect:
            _check_address(urljoin(response.url, response.headers["Location"]))
            response.close()  # what it holds is not read, however long

    session = requests.Session()
    session.headers.update({"Accept-Encoding": "identity", "User-Agent": "sheetfuncs"})
    session.hooks["response"].append(check)
    session.max_redirects = _REDIRECTS
    return session


def _response(session: Session, address: str, headers: dict[str, str]) -> Response:
    import requests

    try:
        response = session.get(address, headers=headers, stream=True, timeout=TIMEOUTS)
    except requests.exceptions.SSLError:
        raise WeatherFileError(f"{_host(address)} has no certificate to be trusted; nothing was fetched") from None
    except requests.TooManyRedirects:
        raise WeatherFileError(f"{_host(address)} sends from one address to the next without end") from None
    except requests.RequestException:
        raise _Cut("could not be reached") from None
    if response.status_code in (200, 206, 304):
        return response
    response.close()
    if response.status_code in _PASSING:
        raise _Cut(f"cannot answer now (status {response.status_code})")
    name = urlsplit(address).path.rsplit("/", 1)[-1]
    raise WeatherFileError(f"{_host(address)} has no {name} (status {response.status_code})")


def _receive(response: Response, part: BinaryIO, largest: int, deadline: float, progress: Progress | None) -> None:
    import urllib3

    length = response.headers.get("Content-Length", "")
    total = part.tell() + int(length) if length.isdigit() else 0
    try:
        for chunk in response.raw.stream(_CHUNK, decode_content=False):
            part.write(chunk)
            if max(part.tell(), total) > largest:
                raise WeatherFileError(
                    f"{_host(response.url)} sends more than {largest // 1024**2} MB; nothing was kept"
                )
            if time.monotonic() > deadline:
                raise _Cut("is too slow")
            if progress:
                progress(part.tell(), total)
    except (urllib3.exceptions.HTTPError, OSError):
        raise _Cut("broke off before the end") from None
    if part.tell() < total:
        raise _Cut("broke off before the end")
