"""The hot folders: made once, proved at every start."""

import os
import pwd
import shutil
import stat
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from ticketbridge.config.folders import (
    LANE_FOLDERS,
    SOURCE_FOLDERS,
    check_folders,
    make_folders,
    others_files_stay,
    refused_step,
)
from ticketbridge.config.mounts import Mount
from ticketbridge.model.codes import refuses, remedy, sentence
from ticketbridge.spool.places import LanePlaces, SourcePlaces
from ticketbridge.vocabulary.names import MARKER_NAME

NOBODY = 65534

OTHER_DEVICE = Path("/dev/shm")


@pytest.fixture
def loaded(small_shop):
    shop = small_shop.load()
    make_folders(shop)
    return shop


@pytest.fixture
def open_shop(small_shop):
    """The small shop where every account can reach it; pytest's own folders are for one account only."""
    with TemporaryDirectory() as parent:
        Path(parent).chmod(0o755)
        shutil.copytree(small_shop.folder, Path(parent) / "shop")
        yield replace(small_shop, folder=Path(parent) / "shop")
        (Path(parent) / "shop").chmod(0o755)


@contextmanager
def ordinary_account():
    """Root may write everywhere, so where the tests run as root the account is changed for a moment."""
    if os.geteuid() != 0:
        yield pwd.getpwuid(os.geteuid()).pw_name
        return
    os.seteuid(NOBODY)
    try:
        yield pwd.getpwuid(NOBODY).pw_name
    finally:
        os.seteuid(0)


def codes_and_spots(shop, findings):
    return [(finding.code, shop.spot(finding)) for finding in findings]


def test_folders_that_were_just_made_are_in_order(loaded):
    assert check_folders(loaded) == []


def test_the_folders_are_those_that_the_bridge_works_with():
    assert {folder.name for folder in SourcePlaces(Path()).all()} == set(SOURCE_FOLDERS)
    assert {folder.name for folder in LanePlaces(Path()).all()} == set(LANE_FOLDERS)


def test_every_folder_that_is_made_has_a_marker_that_says_what_it_is(loaded):
    for folder in [loaded.folder / "hot/mis" / name for name in SOURCE_FOLDERS]:
        assert "Leave this file where it is." in (folder / MARKER_NAME).read_text()
    assert (loaded.folder / "state" / MARKER_NAME).is_file()


def test_checking_leaves_nothing_behind(loaded):
    before = sorted(loaded.folder.rglob("*"))

    check_folders(loaded)

    assert before == sorted(loaded.folder.rglob("*"))


def test_a_folder_that_is_gone_is_named_at_the_line_that_configures_it(small_shop, loaded):
    shutil.rmtree(loaded.folder / "hot/mis/claimed")

    found = check_folders(loaded)

    assert codes_and_spots(small_shop, found) == [
        ("config.folder-missing", "shop.yaml:6:13 sources[mis].folder")
    ]
    assert f"The folder {loaded.folder}/hot/mis/claimed does not exist." == sentence(found[0])
    assert not (loaded.folder / "hot/mis/claimed").exists()


def test_a_folder_without_a_marker_is_taken_for_an_unmounted_share_and_gets_none(small_shop, loaded):
    marker = loaded.folder / "lanes/B/in" / MARKER_NAME
    marker.unlink()

    found = check_folders(loaded)

    assert codes_and_spots(small_shop, found) == [
        ("config.marker-missing", "presses.yaml:25:17 presses[P1].lanes[B].folder")
    ]
    assert "its share is not mounted, or it is not the bridge's folder" in sentence(found[0])
    assert "Mount the share." in remedy(found[0])
    assert not marker.exists()


def test_a_missing_store_folder_is_an_error(loaded):
    shutil.rmtree(loaded.folder / "state")

    assert [finding.code for finding in check_folders(loaded)] == ["config.folder-missing"]


def test_everything_wrong_with_the_folders_is_listed_at_once(loaded):
    shutil.rmtree(loaded.folder / "hot")
    shutil.rmtree(loaded.folder / "lanes")

    assert len(SOURCE_FOLDERS) + 2 * len(LANE_FOLDERS) == len(check_folders(loaded))


def test_one_folder_under_two_names_is_found_through_the_link(small_shop, loaded):
    shutil.rmtree(loaded.folder / "lanes/B/in")
    (loaded.folder / "lanes/B/in").symlink_to(loaded.folder / "lanes/A/in")

    found = check_folders(loaded)

    assert codes_and_spots(small_shop, found) == [
        ("config.folder-twice", "presses.yaml:25:17 presses[P1].lanes[B].folder")
    ]
    assert f"{loaded.folder}/lanes/A/in" in sentence(found[0])


def test_a_folder_on_another_device_is_named_with_both_mounts(small_shop, loaded, tmp_path_factory):
    if not OTHER_DEVICE.is_dir() or OTHER_DEVICE.stat().st_dev == loaded.folder.stat().st_dev:
        pytest.skip("this machine has only one file system to test with")
    elsewhere = OTHER_DEVICE / tmp_path_factory.mktemp("device").name
    elsewhere.mkdir()
    try:
        shutil.rmtree(loaded.folder / "hot/mis/claimed")
        (elsewhere / MARKER_NAME).touch()
        (loaded.folder / "hot/mis/claimed").symlink_to(elsewhere)

        found = check_folders(loaded)
    finally:
        shutil.rmtree(elsewhere)

    assert codes_and_spots(small_shop, found) == [
        ("config.folders-on-two-devices", "shop.yaml:6:13 sources[mis].folder")
    ]
    assert f"mounted at {OTHER_DEVICE}" in sentence(found[0])
    assert sentence(found[0]).count(" mounted at ") == 2


def test_a_store_on_a_network_file_system_is_refused_by_the_name_of_its_mount(loaded):
    mounts = (Mount(Path("/"), "ext4", "/dev/vda"), Mount(loaded.folder / "state", "nfs4", "nas:/state"))

    found = check_folders(loaded, mounts)

    assert [finding.code for finding in found] == ["config.store-on-network"]
    assert f"nas:/state (nfs4) mounted at {loaded.folder}/state" in sentence(found[0])


def test_events_from_a_network_share_are_warned_of_where_they_are_switched_on(small_shop, loaded):
    mounts = (Mount(Path("/"), "ext4", "/dev/vda"), Mount(loaded.folder / "hot", "cifs", "//nas/jobs"))

    found = check_folders(loaded, mounts)

    assert [finding.code for finding in found] == ["config.events-on-network"]
    assert not refuses(found)
    small_shop.replace("shop.yaml", "mapping: mis\n", "mapping: mis\n    watch: {events: false}\n")
    assert check_folders(small_shop.load(), mounts) == []


def test_a_folder_for_artwork_that_is_not_there_is_a_warning(small_shop):
    small_shop.replace("shop.yaml", "mapping: mis\n", "mapping: mis\n    artwork_roots: [art]\n")
    loaded = small_shop.load()
    make_folders(loaded)
    assert check_folders(loaded) == []
    (loaded.folder / "art").rmdir()

    found = check_folders(loaded)

    assert codes_and_spots(small_shop, found) == [
        ("config.artwork-root-missing", "shop.yaml:8:21 sources[mis].artwork_roots[#1]")
    ]
    assert not refuses(found)


def test_a_folder_that_takes_no_files_names_the_step_that_failed():
    # The kernel's own folder: nobody, not even root, may create a file there.
    refused = refused_step(Path("/proc/self"))

    assert refused is not None
    assert refused[0] == "create"


def test_an_account_that_may_not_write_is_named_with_what_it_lacks(open_shop):
    loaded = open_shop.load()
    make_folders(loaded)
    for folder in loaded.folder.rglob("*/"):
        folder.chmod(0o777)
    drop = loaded.folder / "hot/mis/drop"
    drop.chmod(0o555)

    with ordinary_account() as account:
        found = check_folders(loaded)

    assert codes_and_spots(open_shop, found) == [
        ("config.folder-not-writable", "shop.yaml:6:13 sources[mis].folder")
    ]
    assert f"The account {account} cannot create a file in {drop}: Permission denied." == sentence(found[0])
    assert f"Give the account {account} the right to create, rename and remove" in remedy(found[0])


def test_a_folder_that_may_not_be_entered_is_a_complaint_and_no_crash(open_shop):
    open_shop.replace("shop.yaml", "mapping: mis\n", "mapping: mis\n    artwork_roots: [hot/mis/art]\n")
    loaded = open_shop.load()
    make_folders(loaded)
    for folder in loaded.folder.rglob("*/"):
        folder.chmod(0o777)
    (loaded.folder / "hot/mis").chmod(0)

    with ordinary_account():
        found = check_folders(loaded)
    (loaded.folder / "hot/mis").chmod(0o755)

    codes = [finding.code for finding in found]
    assert codes == ["config.folder-unreachable"] * len(SOURCE_FOLDERS) + ["config.artwork-root-missing"]
    assert f"cannot look into {loaded.folder}/hot/mis/drop: Permission denied." in sentence(found[0])


@pytest.mark.parametrize("mode", [0o311, 0o000], ids=["not listed", "not entered"])
def test_a_shop_folder_that_is_closed_to_the_account_is_a_complaint(open_shop, mode):
    open_shop.folder.chmod(mode)

    with ordinary_account():
        found = open_shop.complaints()

    assert [finding.code for finding in found] == ["config.file-unreadable"]
    assert str(found[0].place).startswith(str(open_shop.folder))
    assert "Permission denied" in sentence(found[0])


@pytest.mark.parametrize(
    ("mode", "owner", "user", "stays"),
    [
        (0o1777, 0, 1000, True),
        (0o0777, 0, 1000, False),
        (0o1777, 1000, 1000, False),
        (0o1777, 1000, 0, False),
    ],
    ids=["sticky and another's", "not sticky", "sticky and own", "sticky, but root"],
)
def test_the_sticky_bit_keeps_other_accounts_from_renaming(mode, owner, user, stays):
    # inode(7): in a sticky folder only the owner of the file, the owner of the folder, or root may rename.
    assert stays == others_files_stay(stat.S_IFDIR | mode, owner, user)


def test_with_the_store_in_postgresql_the_state_folder_may_lie_on_a_share(small_shop):
    small_shop.replace(
        "shop.yaml", "time_zone: UTC", "time_zone: UTC\nstore: postgresql://bridge@db.example/small"
    )
    loaded = small_shop.load()
    make_folders(loaded)
    mounts = (Mount(Path("/"), "ext4", "/dev/vda"), Mount(loaded.folder / "state", "nfs4", "nas:/state"))

    assert check_folders(loaded, mounts) == []
