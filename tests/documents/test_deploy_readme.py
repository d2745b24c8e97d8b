"""The unit and its README: systemd knows every word, the commands parse and run, and the two agree."""

import os
import re
import shlex
import shutil
import subprocess
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from ruamel.yaml import YAML

from tests.documents.commands import FENCE, all_commands
from tests.unit.flow.bench import Bench
from ticketbridge.cli import main
from ticketbridge.config.folders import LANE_FOLDERS, SOURCE_FOLDERS
from ticketbridge.flow.keep.restoring import NUMBERS_LEFT_FREE
from ticketbridge.model.keeping import Keeping
from ticketbridge.vocabulary.names import MARKER_NAME

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "deploy" / "README.md").read_text(encoding="utf-8")
UNIT_FILE = ROOT / "deploy" / "ticketbridge.service"
UNIT = UNIT_FILE.read_text(encoding="utf-8")
SHOP = "/srv/ticketbridge/shop"
MOST_EXPOSED_TENTHS = 12
"""``systemd-analyze security`` gave 1.1 under systemd 252; a tenth is left to other versions' tables."""

INSTALLED_ONLY = re.compile(r"Command /opt/ticketbridge/\S+ is not executable: No such file or directory")
"""What is true of every machine on which the bridge is not installed."""


def setting(name: str) -> str:
    """The one value of a directive."""
    (value,) = settings(name)
    return value


def settings(name: str) -> list[str]:
    return re.findall(rf"^{name}=(.*)$", UNIT, re.MULTILINE)


@pytest.fixture(scope="session")
def systemd_analyze() -> str:
    program = shutil.which("systemd-analyze")
    if program is None:
        reason = "systemd-analyze is not on this machine (on Debian: the package systemd)"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return program


def complaints(program: str, unit: Path) -> list[str]:
    """What ``verify`` says about the unit. Its exit status says nothing: it is 0 for a misspelt word."""
    done = subprocess.run([program, "verify", str(unit)], capture_output=True, text=True, timeout=60)
    said = (done.stdout + done.stderr).splitlines()
    return [line for line in said if unit.name in line and not INSTALLED_ONLY.search(line)]


def test_systemd_has_nothing_to_say_about_the_unit(systemd_analyze: str) -> None:
    assert complaints(systemd_analyze, UNIT_FILE) == []


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("WatchdogSec=90", "WatchDogSec=90"),
        ("Type=notify", "Type=notifies"),
        ("@system-service", "@system-services"),
        ("RestrictAddressFamilies=AF_INET ", "RestrictAddressFamilies=AF_INTERNET "),
    ],
)
def test_systemd_would_say_so_of_a_word_that_it_does_not_know(
    systemd_analyze: str, tmp_path: Path, right: str, wrong: str
) -> None:
    assert UNIT.count(right) == 1
    unit = tmp_path / UNIT_FILE.name
    unit.write_text(UNIT.replace(right, wrong))

    assert complaints(systemd_analyze, unit) != []


def test_the_unit_leaves_little_open(systemd_analyze: str) -> None:
    done = subprocess.run(
        [systemd_analyze, "security", "--offline=true", f"--threshold={MOST_EXPOSED_TENTHS}", str(UNIT_FILE)],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "SYSTEMD_COLORS": "0", "SYSTEMD_PAGER": ""},
    )

    assert "Overall exposure level" in done.stdout, done.stderr
    assert done.returncode == 0, done.stdout.splitlines()[-1]


def test_the_readme_tells_the_exposure_that_systemd_finds(systemd_analyze: str) -> None:
    done = subprocess.run(
        [systemd_analyze, "security", "--offline=true", str(UNIT_FILE)],
        capture_output=True,
        text=True,
        timeout=60,
    )
    found = re.search(r"Overall exposure level for \S+: ([\d.]+)", done.stdout)
    told = re.search(r"scores it ([\d.]+) of 10", README)

    assert found
    assert told
    assert float(told[1]) == pytest.approx(float(found[1]), abs=0.1)


def test_every_directive_stands_once_unless_it_adds_up() -> None:
    names = re.findall(r"^([A-Za-z]+)=", UNIT, re.MULTILINE)
    twice = {name for name in names if names.count(name) > 1}

    assert twice == {"SystemCallFilter"}


# --- the README's commands ----------------------------------------------------------------------------


@pytest.mark.parametrize("block", FENCE.findall(README))
def test_every_block_of_commands_is_a_shell_script(block: str) -> None:
    for shell in ("bash", "sh"):
        checked = subprocess.run([shell, "-n"], input=block, capture_output=True, text=True)

        assert (checked.returncode, checked.stderr) == (0, "")


def invocations() -> list[list[str]]:
    """Every use of the program in the README, in blocks and in running text, and in the unit."""
    inline = [line.strip() for line in re.findall(r"`([^`\n]+)`", README)]
    found = []
    for line in [*all_commands(README), *inline, *settings("ExecStart")]:
        match = re.search(r"(?:^|/bin/|\s)ticketbridge ([a-z].*)$", line)
        if match:
            found.append(shlex.split(match[1]))
    return found


def test_every_use_of_the_program_exists() -> None:
    used = invocations()

    assert {words[0] for words in used} >= {"init", "check", "run", "jobs", "lanes"}
    for words in used:
        command = main.commands[words[0]]
        context = click.Context(command, info_name=words[0])
        known = {option for parameter in command.get_params(context) for option in parameter.opts}
        assert {word for word in words[1:] if word.startswith("-")} <= known, words


def test_an_option_named_by_itself_exists_on_the_commands_named_beside_it() -> None:
    sentence = next(line for line in README.splitlines() if "`--json`" in line)
    named = re.findall(r"`ticketbridge ([a-z]+)", sentence)

    assert named == ["jobs", "lanes"]
    for name in named:
        assert "--json" in {option for parameter in main.commands[name].params for option in parameter.opts}


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    old = os.umask(0o022)
    try:
        assert CliRunner().invoke(main, ["init", str(folder)]).exit_code == 0
    finally:
        os.umask(old)
    return folder


def run_in(shop: Path, lines: list[str]) -> None:
    script = "\n".join(lines).replace(SHOP, str(shop))
    done = subprocess.run(["bash", "-e"], input=script, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")


def group_may_write(folder: Path) -> bool:
    return bool(folder.stat().st_mode & 0o020)


def test_after_the_install_commands_the_group_may_write_where_it_must_and_nowhere_else(shop: Path) -> None:
    run_in(shop, [line for line in all_commands(README) if line.startswith("(cd ")])

    folders = [path for path in shop.rglob("*") if path.is_dir()]
    opened = {str(path.relative_to(shop)) for path in folders if group_may_write(path)}
    source = {
        f"hotfolders/{source}/{name}"
        for source in ("mis", "counter", "pdf-drop")
        for name in ("drop", "refused", "status", "returned")
    }
    lanes = {
        f"lanes/{lane}/{name}"
        for lane in ("HL-P1-A", "HL-P1-B", "HL-P2-W")
        for name in ("in", "status", "returned")
    }
    assert opened == source | lanes | {"artwork"}


def recipe() -> str:
    (block,) = [block for block in FENCE.findall(README) if "hotfolders/web" in block]
    return str(block)


def test_the_recipe_for_a_new_source_makes_what_check_asks_for(shop: Path) -> None:
    owners = "-o ticketbridge -g hotfolders "  # accounts that this machine need not have
    assert recipe().count(owners) == 2
    settings_file = shop / "shop.yaml"
    settings_file.write_text(
        settings_file.read_text() + "  - id: web\n    folder: hotfolders/web\n    mapping: mis\n"
    )
    assert CliRunner().invoke(main, ["check", "--shop", str(shop)]).exit_code == 1

    run_in(shop, recipe().replace(owners, "").splitlines())

    answer = CliRunner().invoke(main, ["check", "--shop", str(shop)])
    assert answer.exit_code == 0, answer.output
    opened = {name for name in SOURCE_FOLDERS if group_may_write(shop / "hotfolders" / "web" / name)}
    assert opened == {"drop", "refused", "status", "returned"}
    assert (shop / "hotfolders" / "web" / "drop").stat().st_mode & 0o2000


def test_the_readme_names_the_folders_of_a_lane_and_the_marker() -> None:
    table = README.partition("| folder of a lane |")[2].partition("\n\n")[0]
    sentence = next(line for line in README.splitlines() if line.startswith("For a lane the places are"))

    assert set(re.findall(r"^\| `(\w+)` \|", table, re.MULTILINE)) == set(LANE_FOLDERS)
    assert set(re.findall(r"`(\w+)`", sentence)) == set(LANE_FOLDERS)
    assert f"`{MARKER_NAME}`" in README


def test_backup_verify_and_restore_work_as_the_readme_types_them(tmp_path: Path) -> None:
    bench = Bench(tmp_path / "shop")
    bench.restart().store.close()
    (block,) = [block for block in FENCE.findall(README) if "ticketbridge backup" in block]
    lines = block.replace(SHOP, str(bench.folder)).replace("/srv/ticketbridge", str(tmp_path))
    lines = lines.replace("/var/backups", str(tmp_path)).strip().splitlines()

    assert [line.partition(" ")[0] for line in lines] == [
        "ticketbridge",
        "ticketbridge",
        "mv",
        "ticketbridge",
    ]
    for words in map(shlex.split, lines):
        if words[0] == "mv":
            shutil.move(words[1], words[2])
        else:
            answer = CliRunner().invoke(main, words[1:])
            assert answer.exit_code == 0, answer.output
    assert f"{NUMBERS_LEFT_FREE:,} further on" in README


def test_the_readme_shows_how_long_everything_is_kept_by_default() -> None:
    (block,) = re.findall(r"```yaml\n(keeping:.*?)```", README, re.DOTALL)
    told = YAML(typ="safe").load(block)["keeping"]

    assert told == Keeping().model_dump()


# --- the README and the unit agree --------------------------------------------------------------------


def test_the_unit_runs_what_the_readme_installs_on_the_shop_that_it_makes() -> None:
    program, *words = shlex.split(setting("ExecStart"))
    blocks = "\n".join(all_commands(README))

    assert words == ["run", "--shop", SHOP]
    assert program == "/opt/ticketbridge/venv/bin/ticketbridge"
    assert "python3 -m venv /opt/ticketbridge/venv && /opt/ticketbridge/venv/bin/pip install ." in blocks
    assert f"{program} init {SHOP}\n" in blocks
    assert f"{program} check --shop {SHOP}\n" in blocks


def test_the_unit_may_write_to_the_folder_that_the_readme_makes_for_its_account() -> None:
    made = re.search(
        r"^install -d -o (\S+) -g (\S+) -m 2750 (\S+)$", "\n".join(all_commands(README)), re.MULTILINE
    )

    assert made
    assert made.groups() == (setting("User"), setting("SupplementaryGroups"), setting("ReadWritePaths"))
    assert SHOP.startswith(setting("ReadWritePaths") + "/")
    assert setting("RequiresMountsFor") == setting("ReadWritePaths")


def test_account_and_group_of_the_unit_are_made_by_the_readme() -> None:
    commands = all_commands(README)
    account, group = setting("User"), setting("SupplementaryGroups")

    assert setting("Group") == account
    assert any(line.startswith("useradd --system ") and line.endswith(f" {account}") for line in commands)
    assert f"groupadd --force --system {group} && usermod --append --groups {group} {account}" in commands


def test_the_unit_and_its_page_are_installed_where_they_are_looked_for() -> None:
    page = setting("Documentation").removeprefix("file:")
    commands = all_commands(README)

    assert f"install -D -m 0644 deploy/README.md {page}" in commands
    assert "install -m 0644 deploy/ticketbridge.service /etc/systemd/system/" in commands
    assert f"systemctl daemon-reload && systemctl enable --now {UNIT_FILE.stem}" in commands


def test_the_readme_s_table_says_after_which_status_the_unit_starts_again() -> None:
    rows = re.findall(r"^\| (\d+) \| .* \| (.*) \|$", README, re.MULTILINE)
    left = [status for status, does in rows if does.startswith("leaves it *failed*")]
    again = [status for status, does in rows if does.startswith("starts it again")]

    assert [status for status, _ in rows] == ["0", "1", "2", "3", "75"]
    assert setting("Restart") == "on-failure"
    assert setting("RestartPreventExitStatus").split() == left
    assert again == [str(os.EX_TEMPFAIL)]
    assert setting("StartLimitIntervalSec") == "0"


def test_the_drop_ins_of_the_readme_use_words_that_systemd_knows(
    systemd_analyze: str, tmp_path: Path
) -> None:
    drop_ins = re.findall(r"```ini\n(.*?)```", README, re.DOTALL)
    assert len(drop_ins) == 2
    unit = tmp_path / UNIT_FILE.name
    unit.write_text(UNIT + "\n" + "\n".join(drop_ins))

    assert complaints(systemd_analyze, unit) == []
