"""Encrypted, with a certificate that the test makes for itself."""

from __future__ import annotations

import shutil
import ssl
import subprocess
from pathlib import Path

import aiohttp
import pytest

from drillrunner.cli.main import main
from tests.serve.world import Phone, served

pytestmark = pytest.mark.skipif(shutil.which("openssl") is None, reason="there is no openssl")


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Path, Path]:
    """A certificate for this machine, and its key."""
    certificate, key = tmp_path / "certificate.pem", tmp_path / "key.pem"
    words = "req -x509 -nodes -newkey ec -pkeyopt ec_paramgen_curve:prime256v1 -days 2"
    name = ("-subj", "/CN=localhost", "-addext", "subjectAltName=IP:127.0.0.1")
    files = ("-keyout", str(key), "-out", str(certificate))
    subprocess.run(["openssl", *words.split(), *name, *files], check=True, capture_output=True)
    return certificate, key


async def test_a_phone_plays_over_an_encrypted_connection(pair: tuple[Path, Path]) -> None:
    certificate, key = map(str, pair)
    with served("--certificate", certificate, "--key", key) as server:
        assert server.base.startswith("https://")
        trusting = ssl.create_default_context(cafile=certificate)
        one = Phone(server.base)
        await one.http.close()
        one.http = aiohttp.ClientSession(
            cookie_jar=aiohttp.CookieJar(unsafe=True),
            connector=aiohttp.TCPConnector(ssl=trusting),
        )
        try:
            await one.get()
            assert (await one.post("who", do="new", name="Ann"))[0] == 200
            (cookie,) = one.http.cookie_jar
            assert cookie["secure"]
            await one.connect()
            await one.until("Hold the corridor")
        finally:
            await one.close()
        # Who does not speak so gets nothing.
        plain = server.base.replace("https", "http")
        async with aiohttp.ClientSession() as http:
            with pytest.raises(aiohttp.ClientError):
                await http.get(f"{plain}/")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--certificate", "{certificate}"], "expected both or none"),
        (["--certificate", "{certificate}", "--key", "{certificate}"], "belongs to it, in PEM"),
        (["--certificate", "nothing.pem", "--key", "{key}"], "No such file"),
    ],
)
def test_a_certificate_that_can_not_be_used_is_one_line(
    pair: tuple[Path, Path], words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    certificate, key = pair
    filled = [word.format(certificate=certificate, key=key) for word in words]
    assert main(["serve", "--port", "0", *filled]) == 2
    told = capsys.readouterr().err
    assert said in told
    assert told.count("\n") == 1
