"""Keys as a grower gets them: addresses for both kinds of phone, codes that a camera reads."""

from __future__ import annotations

import base64
import json
import os
import re
import ssl
import subprocess
import sys
from http.client import HTTPSConnection
from pathlib import Path

import pytest
from at_the_phone import needed, phone
from raw_http import ask, send
from served_house import ROOT, Served, desk_over, serving

from cropplan.cli.root import run
from cropplan.desk import keys

#: How a half block stands for two modules, upper and lower; a full block is light.
_HALVES = {"█": (0, 0), "▀": (0, 1), "▄": (1, 0), " ": (1, 1)}


def cropplan(record: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """The command as typed."""
    return subprocess.run(
        [sys.executable, "-m", "cropplan", *words, "--record", str(record)],
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def read_by_camera(picture: Path) -> str:
    """What zbarimg, a program of other people, reads from a picture."""
    program = needed("zbarimg", "zbar-tools")
    words = [program, "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", str(picture)]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.removesuffix("\n")


def drawn(rows: list[str], file: Path, scale: int = 6) -> Path:
    """The half blocks of a terminal as a picture of black and white dots."""
    modules = [[_HALVES[sign][half] for sign in row] for row in rows for half in (0, 1)]
    dots = [[dot for dot in row for _ in range(scale)] for row in modules for _ in range(scale)]
    head = f"P1\n{len(dots[0])} {len(dots)}\n"
    file.write_text(head + "\n".join(" ".join(map(str, row)) for row in dots), encoding="ascii")
    return file


def test_a_new_feeds_codes_are_read_back_to_its_very_addresses(
    record: Path, tmp_path: Path
) -> None:
    """Webcal for Apple, https for the rest; in the terminal and as a picture, through zbarimg."""
    svg = tmp_path / "wall.svg"
    where = ("--at", "https://house.example:8427", "--svg", str(svg))
    told = cropplan(record, "calendar", "key", "new", "kitchen wall", *where)
    assert told.returncode == 0, told.stderr
    urls = re.findall(r"^(?:webcal|https)://\S+$", told.stdout, re.MULTILINE)
    assert [url.split(":")[0] for url in urls] == ["webcal", "https"]
    assert urls[0].removeprefix("webcal") == urls[1].removeprefix("https")
    assert all(len(url) <= 256 and url.isascii() for url in urls)
    secret = urls[0].split("/")[4]
    assert len(base64.urlsafe_b64decode(secret + "=")) * 8 >= 120
    blocks = re.findall(r"(?:^[█▀▄ ]{30,}\n)+", told.stdout, re.MULTILINE)
    assert len(blocks) == 2
    for number, (url, block) in enumerate(zip(urls, blocks, strict=True)):
        picture = drawn(block.splitlines(), tmp_path / f"terminal-{number}.pbm")
        assert read_by_camera(picture) == url
    with phone((500, 500)) as one:
        for url, name in zip(urls, ("wall-apple.svg", "wall-others.svg"), strict=True):
            file = tmp_path / name
            assert file.stat().st_mode & 0o077 == 0
            one.open(file.as_uri())
            shown = tmp_path / f"{name}.png"
            one.driver.save_screenshot(str(shown))
            assert read_by_camera(shown) == url


def test_the_printed_address_is_the_one_that_is_served(record: Path) -> None:
    """A key made while the server runs has its address, and the address opens."""
    with serving(record) as running:
        told = cropplan(record, "calendar", "key", "new", "Ines phone", "--kind", "phone", "--json")
        url = json.loads(told.stdout)["addresses"]["page"]
        assert url.startswith(running.origin)
        reply = ask(running, url.removeprefix(running.origin))
        assert reply.status == 200
        assert "Wed 10 Jun 2026" in reply.text


def test_keys_are_listed_without_their_secrets_and_can_be_taken_back(served: Served) -> None:
    """Label, what it opens, last used; revoking works on a running server, at once."""
    ask(served, served.phone)
    listed = json.loads(cropplan(served.record, "calendar", "key", "list", "--json").stdout)
    assert [(one["label"], one["kind"]) for one in listed] == [
        ("kitchen wall", "feed"),
        ("Mina", "phone"),
    ]
    assert listed[1]["used"] == "2026-06-10"
    assert listed[0]["used"] is None
    said = cropplan(served.record, "calendar", "key", "list").stdout
    assert not [secret for secret in served.secrets if secret in said]
    assert cropplan(served.record, "calendar", "key", "revoke", "Mina").returncode == 0
    assert ask(served, served.phone).status == 404
    assert ask(served, served.feed).status == 200
    again = cropplan(served.record, "calendar", "key", "revoke", "Mina")
    assert again.returncode == 1
    assert "no key in use is called 'Mina'" in again.stderr


def test_no_secret_is_kept_anywhere_in_the_record(served: Served) -> None:
    """Only its SHA-256: a stolen backup opens nothing."""
    ask(served, served.feed)
    ask(served, served.phone)
    desk = desk_over(served.record)
    with desk.record:
        desk.record.connection.execute("PRAGMA wal_checkpoint")
    files = [file.read_bytes() for file in served.record.parent.glob("house.db*")]
    for secret in served.secrets:
        assert not [held for held in files if secret.encode() in held]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("serve", "--host", "0.0.0.0"), "add --lan if that is meant"),  # noqa: S104
        (("serve", "--host", "192.168.1.2"), "add --lan if that is meant"),
        (("serve", "--cert", "x.pem"), "--private-key FILE"),
        (("serve", "--cert", "x.pem", "--private-key", "y.pem"), "cannot be read"),
        (("serve", "--port", "0"), "--port is 1 to 65535, got '0'"),
        (("key", "new", " "), "is no name for a key"),
        (("key", "new", "x", "--only", "cutings"), "did you mean 'cuttings'?"),
        (("key", "new", "x", "--kind", "fone"), "did you mean 'phone'?"),
        (("key", "new", "x", "--kind", "phone", "--only", "cuttings"), "are for a calendar"),
        (("key", "new", "x", "--kind", "neighbour"), "cropplan away FROM TO"),
        (("key", "new", "x", "--at", "house.example"), "'house.example' is no address"),
        (("key", "new", "x", "--at", "http://me:pw@house.example"), "is no address of a server"),
        (("key", "new", "x", "--at", f"https://{'h' * 200}.example"), "shorter name"),
        (("key", "new", "x", "--house", "nort"), "no house is called 'nort'"),
        (("key", "revoke", "nobody"), "no key in use is called 'nobody'"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(
    made: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    """Nothing is opened wider than asked for, and no key is made by a slip."""
    assert run(["calendar", *words, "--record", str(made)]) in {1, 2}
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.count("\n") == 1
    assert said in told.err
    desk = desk_over(made)
    with desk.record:
        assert keys.keys(desk) == []


def test_with_tls_files_it_is_https_and_nothing_else(record: Path, tmp_path: Path) -> None:
    """A certificate and its key are used, and the printed addresses say https and webcal."""
    program = needed("openssl", "openssl")
    cert, private = tmp_path / "cert.pem", tmp_path / "key.pem"
    words = [
        "req",
        "-x509",
        "-newkey",
        "rsa:2048",
        "-nodes",
        "-days",
        "2",
        "-subj",
        "/CN=localhost",
    ]
    words += ["-addext", "subjectAltName=DNS:localhost", "-keyout", str(private), "-out", str(cert)]
    subprocess.run([program, *words], check=True, capture_output=True)
    options = {"cert": str(cert), "private_key": str(private)}
    with serving(record, options=options) as running:
        trusted = ssl.create_default_context(cafile=str(cert))
        line = HTTPSConnection("localhost", running.port, context=trusted, timeout=10)
        line.request("GET", running.feed)
        assert line.getresponse().read().startswith(b"BEGIN:VCALENDAR")
        line.close()
        assert send(running, f"GET {running.feed} HTTP/1.1\r\n\r\n".encode()) == b""
        told = cropplan(record, "calendar", "key", "new", "x", "--json")
        urls = json.loads(told.stdout)["addresses"]
        assert urls["others"].startswith(f"https://127.0.0.1:{running.port}/f/")
        assert urls["apple"].startswith(f"webcal://127.0.0.1:{running.port}/f/")


def test_wider_than_this_computer_only_with_a_warning(record: Path) -> None:
    """--lan answers to the network's address and says first what that means."""
    options = {"lan": True, "host": "127.0.0.1"}
    with serving(record, options=options) as running:
        told = " ".join(running.lines())
        assert told.startswith("warning: everyone on this network can now reach")
        assert "keys included" in told
        assert f"serving at http://127.0.0.1:{running.port}" in told


def test_by_default_only_this_computer_can_connect(served: Served) -> None:
    """The listening socket is bound to loopback, and no other."""
    port = f"{served.port:04X}"
    rows = [row.split() for row in Path("/proc/net/tcp").read_text(encoding="ascii").splitlines()]
    bound = {row[1].split(":")[0] for row in rows if row[1].endswith(f":{port}") and row[3] == "0A"}
    assert bound == {"0100007F"}
