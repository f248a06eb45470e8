"""One file of an archive, brought into the user's cache: whole or not at all, and only when it has changed.

Only https leaves this machine, and no key and no account with it. What comes back is stored as data, never run.
"""

from __future__ import annotations

import hashlib
import ipaddress
import json
import os
import re
import tempfile
import time
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO
from urllib.parse import urljoin, urlsplit

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
_CHUNK = 64 * 1024
_PASSING = (408, 425, 429, 500, 502, 503, 504)


@dataclass(frozen=True)
class Fetched:
    """A file in the cache. at : when the archive last confirmed it. why_old : why it was not asked again, or ""."""

    path: Path
    at: datetime
    why_old: str = ""


class _Cut(Exception):
    """The connection broke before the end; the text says how."""


def cache_folder() -> Path:
    """Return the folder of fetched files; ``SHEETFUNCS_CACHE`` in the environment names another."""
    named = os.environ.get("SHEETFUNCS_CACHE")
    if named:
        return Path(named)
    import platformdirs

    return Path(platformdirs.user_cache_path("sheetfuncs", appauthor=False))


def fetch(address: str, largest: int, progress: Progress | None = None, fresh_for: timedelta = timedelta(0)) -> Fetched:
    """Return a file of an archive, from the cache where it has not changed.

    address : https, or http on this machine. largest : a longer answer is refused [bytes]. fresh_for : how long a
    file in the cache is used without looking whether it has changed.
    Raises :class:`~..errors.WeatherFileError` in one line where it cannot be had; the cache stays as it was.
    """
    _check_address(address)
    place = cache_folder() / "archive" / hashlib.sha256(address.encode()).hexdigest()[:16]
    path = place / (re.sub(r"[^\w.-]", "", urlsplit(address).path.rsplit("/", 1)[-1]) or "data")
    known = _known(place, path)
    if known and datetime.now(timezone.utc) - known.at < fresh_for:
        return known
    try:
        place.mkdir(parents=True, exist_ok=True)
        found = _download(address, path, known is not None, largest, progress)
    except _Cut as problem:
        if known:
            return Fetched(known.path, known.at, str(problem))
        raise WeatherFileError(f"{_host(address)} {problem}: try again later, or add a file by hand") from None
    except OSError as error:
        raise WeatherFileError(f"{place} cannot be written: {error.strerror or error}") from None
    _prune(place)
    return found


def forget(fetched: Fetched) -> None:
    """Take a file out of the cache that turned out to be broken."""
    fetched.path.unlink(missing_ok=True)


def _check_address(address: str) -> None:
    parts = urlsplit(address)
    if parts.scheme == "https" and parts.hostname:
        return
    if parts.scheme == "http" and _is_this_machine(parts.hostname or ""):
        return
    raise WeatherFileError(f"{address[:60]} is no address to fetch from, wanted one that starts with https://")


def _is_this_machine(host: str) -> bool:
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _host(address: str) -> str:
    return urlsplit(address).hostname or address


def _note(place: Path) -> Path:
    return place / "about.json"


def _known(place: Path, path: Path) -> Fetched | None:
    """Return the file as it is in the cache; ``None`` where it is not there or its note cannot be read."""
    try:
        about = json.loads(_note(place).read_text("utf-8"))
        at = datetime.fromisoformat(about["at"])
        if path.stat().st_size == about["size"] and at.tzinfo is not None:
            return Fetched(path, at)
    except (OSError, ValueError, KeyError, TypeError):
        pass
    return None


def _download(address: str, path: Path, is_known: bool, largest: int, progress: Progress | None) -> Fetched:
    import requests

    about = json.loads(_note(path.parent).read_text("utf-8")) if is_known else {}
    conditions = {
        header: about[key] for header, key in (("If-None-Match", "etag"), ("If-Modified-Since", "modified"))
        if about.get(key)
    }  # fmt: skip
    deadline = time.monotonic() + PATIENCE
    descriptor, name = tempfile.mkstemp(prefix="part-", dir=path.parent)
    try:
        with os.fdopen(descriptor, "wb") as part, requests.Session() as session:
            session.headers.update({"Accept-Encoding": "identity", "User-Agent": "sheetfuncs"})
            headers = _all_of_it(session, address, conditions, part, largest, deadline, progress)
        at = datetime.now(timezone.utc)
        if headers is None:
            _write_note(path.parent, {**about, "at": at.isoformat()})
            return Fetched(path, at)
        size = os.path.getsize(name)
        os.replace(name, path)
        _write_note(path.parent, {
            "address": address, "etag": headers.get("ETag", ""), "modified": headers.get("Last-Modified", ""),
            "size": size, "at": at.isoformat(),
        })  # fmt: skip
        return Fetched(path, at)
    finally:
        Path(name).unlink(missing_ok=True)


def _all_of_it(
    session: Session, address: str, conditions: dict[str, str], part: BinaryIO, largest: int, deadline: float,
    progress: Progress | None,
) -> dict[str, str] | None:  # fmt: skip
    """Write a whole answer into ``part``, taking a broken connection up again; return its headers.

    ``None`` where the archive says that the file has not changed.
    """
    validator, problem = "", ""
    for attempt in range(ATTEMPTS):
        if attempt:
            time.sleep(PAUSE * 2**attempt)
        start = part.tell() if validator else 0
        ask = {"Range": f"bytes={start}-", "If-Range": validator} if start else conditions
        try:
            with _response(session, address, ask) as response:
                if response.status_code == 304 and not start:
                    return None
                if response.status_code != 206 or not _goes_on_at(response, start):
                    start = 0
                part.seek(start)
                part.truncate()
                etag = response.headers.get("ETag", "")
                # A weak validator does not promise the same bytes.
                validator = etag if etag and not etag.startswith("W/") else ""
                _receive(response, part, largest, deadline, progress)
                return dict(response.headers)
        except _Cut as cut:
            problem = str(cut)
    raise _Cut(problem)


def _response(session: Session, address: str, headers: dict[str, str]) -> Response:
    """Return the answer to a request, redirects followed where they lead to an address that may be asked."""
    import requests

    for _ in range(_REDIRECTS):
        try:
            response = session.get(address, headers=headers, stream=True, timeout=TIMEOUTS, allow_redirects=False)
        except requests.exceptions.SSLError:
            raise WeatherFileError(f"{_host(address)} has no certificate to be trusted; nothing was fetched") from None
        except requests.RequestException:
            raise _Cut("could not be reached") from None
        if response.status_code in (200, 206, 304):
            return response
        response.close()
        if response.is_redirect:
            address = urljoin(address, response.headers["Location"])
            _check_address(address)
            continue
        if response.status_code in _PASSING:
            raise _Cut(f"cannot answer now (status {response.status_code})")
        name = urlsplit(address).path.rsplit("/", 1)[-1]
        raise WeatherFileError(f"{_host(address)} has no {name} (status {response.status_code})")
    raise WeatherFileError(f"{_host(address)} sends from one address to the next without end")


def _goes_on_at(response: Response, start: int) -> bool:
    return response.headers.get("Content-Range", "").startswith(f"bytes {start}-")


def _receive(response: Response, part: BinaryIO, largest: int, deadline: float, progress: Progress | None) -> None:
    import requests
    import urllib3

    length = response.headers.get("Content-Length", "")
    total = part.tell() + int(length) if length.isdigit() else 0
    try:
        for chunk in response.raw.stream(_CHUNK, decode_content=False):
            part.write(chunk)
            if part.tell() > largest or total > largest:
                raise WeatherFileError(
                    f"{urlsplit(response.url).hostname} sends more than {largest // 1024**2} MB; nothing was kept"
                )
            if time.monotonic() > deadline:
                raise _Cut("is too slow")
            if progress:
                progress(part.tell(), total)
    except (urllib3.exceptions.HTTPError, requests.RequestException, ConnectionError, TimeoutError):
        raise _Cut("broke off before the end") from None
    if total and part.tell() < total:
        raise _Cut("broke off before the end")


def _write_note(place: Path, about: dict[str, object]) -> None:
    beside = place / f"about-{os.getpid()}.part"
    beside.write_text(json.dumps(about), "utf-8")
    os.replace(beside, _note(place))


def _prune(just_used: Path) -> None:
    """Keep the cache within its bound."""
    os.utime(just_used)
    places = [place for place in just_used.parent.iterdir() if place.is_dir()]
    held = 0
    for place in sorted(places, key=lambda one: one.stat().st_mtime, reverse=True):
        files = list(place.iterdir())
        held += sum(file.stat().st_size for file in files)
        if held > LARGEST_CACHE and place != just_used:
            for file in files:
                file.unlink(missing_ok=True)
            place.rmdir()
