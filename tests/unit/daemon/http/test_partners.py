"""Who may speak: by address, by password, by certificate; and what those hear who may not."""

import ssl
import subprocess
from base64 import b64encode
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest
from click.testing import CliRunner
from pydantic import ValidationError

from tests.unit.daemon.http.office import JMF, Office, jmf, open_office, query
from ticketbridge.cli import main
from ticketbridge.daemon.http.partners import Credentials, Partners, with_sender_id
from ticketbridge.daemon.http.passwords import Doorkeeper, hash_of, read_passwords
from ticketbridge.model.jmf_partner import JmfEndpoint, JmfSender

STATUS = jmf(query("Status"))


def sender(name: str = "mis", **more: object) -> JmfSender:
    return JmfSender.model_validate({"id": name, "sender_ids": (f"{name}*",), "source": "mis"} | more)


def basic(user: str, password: str) -> str:
    return "Basic " + b64encode(f"{user}:{password}".encode()).decode()


@pytest.mark.parametrize(
    ("address", "welcome"),
    [
        ("10.1.2.3", True),
        ("10.2.0.1", False),
        ("::ffff:10.1.2.3", True),
        ("fe80::1", False),
        ("", False),
        ("x", False),
    ],
)
def test_a_sender_is_known_by_its_network(address: str, welcome: bool) -> None:
    partners = Partners([sender(addresses=("10.1.0.0/16",))], Doorkeeper({}))

    assert bool(partners.at_address(address)) is welcome


def test_the_first_that_writes_the_sender_id_is_the_sender() -> None:
    one, two = sender("mis"), sender("mis-two")

    assert with_sender_id([one, two], "mis-two") is one
    assert with_sender_id([two, one], "mis-two") is two
    assert with_sender_id([one, two], "MIS") is None


@pytest.mark.parametrize(
    ("header", "welcome"),
    [
        (basic("desk", "secret"), True),
        (basic("desk", "Secret"), False),
        (basic("other", "secret"), False),
        (basic("desk", ""), False),
        ("Basic ***", False),
        ("Bearer secret", False),
        (None, False),
    ],
)
def test_a_sender_with_a_user_must_know_the_password(header: str | None, welcome: bool) -> None:
    partners = Partners([sender(user="desk")], Doorkeeper({"desk": hash_of("secret")}))

    for _ in range(2):  # the second time it is remembered
        signed_in = partners.signed_in([sender(user="desk")], Credentials("127.0.0.1", header))
        assert bool(signed_in) is welcome


def test_a_password_given_once_opens_no_other_door() -> None:
    door = Doorkeeper({"desk": hash_of("secret"), "other": hash_of("word")})

    assert door.lets_in("desk", "secret")
    assert not door.lets_in("other", "secret")
    assert not door.lets_in("desk", "word")


def test_the_command_makes_a_line_that_lets_its_user_in(tmp_path: Path) -> None:
    made = CliRunner().invoke(main, ["password", "desk"], input="secret\nsecret\n")
    (tmp_path / "passwords").write_text("# who may speak\n\n" + made.output.splitlines()[-1])

    hashes = read_passwords(tmp_path / "passwords")

    assert "secret" not in hashes["desk"]
    assert Doorkeeper(hashes).lets_in("desk", "secret")


@pytest.mark.parametrize("line", ["desk", "desk:secret", ":scrypt$1$a$b"])
def test_a_file_that_holds_something_else_is_refused_with_its_line(tmp_path: Path, line: str) -> None:
    (tmp_path / "passwords").write_text(f"# first\n{line}\n")

    with pytest.raises(ValueError, match="passwords:2"):
        read_passwords(tmp_path / "passwords")


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"senders": [{"id": "a", "sender_ids": ["a"]}]}, "either for a source or for lanes"),
        (
            {"senders": [{"id": "a", "sender_ids": ["a"], "source": "s", "lanes": ["l"]}]},
            "either for a source",
        ),
        ({"senders": [{"id": "a", "sender_ids": ["a"], "source": "s", "user": "u"}]}, "passwords must name"),
        (
            {"senders": [{"id": "a", "sender_ids": ["a"], "source": "s", "certificate": "c"}]},
            "client_authority_file",
        ),
        (
            {"senders": [{"id": "a", "sender_ids": ["a"], "source": "s", "addresses": ["mis.example"]}]},
            "neither an address",
        ),
        ({"certificate_file": "c.pem"}, "belong together"),
        ({"client_authority_file": "c.pem"}, "need https"),
    ],
)
def test_settings_that_contradict_themselves_are_refused(changes: dict[str, object], why: str) -> None:
    whole = {"senders": [{"id": "a", "sender_ids": ["a"], "source": "s"}]}

    with pytest.raises(ValidationError, match=why):
        JmfEndpoint.model_validate(whole | changes)


@pytest.fixture
def guarded(tmp_path: Path) -> Iterator[Office]:
    hashes = tmp_path / "passwords"
    hashes.write_text(f"desk:{hash_of('secret')}\n")
    with open_office(tmp_path / "shop", f"  passwords: {hashes}", user="desk") as office:
        yield office


def test_without_the_password_nothing_is_said_and_with_it_all(guarded: Office) -> None:
    without = guarded.post(STATUS)
    wrong = guarded.post(STATUS, JMF, Authorization=basic("desk", "wrong"))
    right = guarded.post(STATUS, JMF, Authorization=basic("desk", "secret"))

    assert [(one.status, one.body) for one in (without, wrong)] == [(403, b"")] * 2  # the press needs none
    assert right.codes == ["0"]


def test_from_another_address_nothing_is_said(tmp_path: Path) -> None:
    with open_office(tmp_path / "shop", addresses="[10.9.9.9]", only_mis=True) as office:
        said = office.post(STATUS)

    assert (said.status, said.body) == (403, b"")


def certificate(folder: Path, name: str, signed_by: str | None = None) -> None:
    """A key and a certificate, self-signed or signed by another, as a shop's IT would make them."""
    new = [
        "openssl",
        "req",
        "-newkey",
        "rsa:2048",
        "-nodes",
        "-keyout",
        f"{name}.key",
        "-subj",
        f"/CN={name}",
    ]
    names = ["-addext", "subjectAltName=IP:127.0.0.1"]
    if signed_by is None:
        subprocess.run(
            [*new, "-x509", "-days", "2", *names, "-out", f"{name}.pem"],
            cwd=folder,
            check=True,
            capture_output=True,
        )
        return
    subprocess.run([*new, "-out", f"{name}.csr"], cwd=folder, check=True, capture_output=True)
    sign = [
        "openssl",
        "x509",
        "-req",
        "-in",
        f"{name}.csr",
        "-CA",
        f"{signed_by}.pem",
        "-CAkey",
        f"{signed_by}.key",
    ]
    subprocess.run(
        [*sign, "-CAcreateserial", "-days", "2", "-out", f"{name}.pem"],
        cwd=folder,
        check=True,
        capture_output=True,
    )


def test_over_https_a_client_certificate_says_who_speaks(tmp_path: Path) -> None:
    certificate(tmp_path, "bridge")
    certificate(tmp_path, "shop-ca")
    for name in ("mis-1", "mis-2"):
        certificate(tmp_path, name, "shop-ca")
    more = (
        f"  certificate_file: {tmp_path}/bridge.pem\n  key_file: {tmp_path}/bridge.key\n"
        f"  client_authority_file: {tmp_path}/shop-ca.pem"
    )
    with open_office(tmp_path / "shop", more, certificate="mis-1", only_mis=True) as office:
        codes = [_posted(office, tmp_path, name) for name in ("mis-1", "mis-2", None)]

    assert codes == [200, 403, 403]


def _posted(office: Office, folder: Path, name: str | None) -> int:
    trust = ssl.create_default_context(cafile=str(folder / "bridge.pem"))
    if name is not None:
        trust.load_cert_chain(folder / f"{name}.pem", folder / f"{name}.key")
    with httpx2.Client(verify=trust, trust_env=False) as client:
        answer = client.post(f"https://{office.address}/", content=STATUS, headers={"Content-Type": JMF})
    return answer.status_code
