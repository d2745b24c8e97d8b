"""Which file system a folder lies on, from the kernel's text."""

from pathlib import Path

from ticketbridge.config.mounts import Mount, mount_of, mounts_from

# The first line is the example in the manual page proc_pid_mountinfo(5), the others are made after its grammar.
MOUNTINFO = """\
36 35 98:0 /mnt1 /mnt2 rw,noatime master:1 - ext3 /dev/root rw,errors=continue
22 1 254:0 / / rw,relatime - ext4 /dev/vda rw
41 22 0:52 / /srv/job\\040tickets rw,relatime shared:7 - cifs //nas/job\\040tickets rw,vers=3.1.1
42 22 0:53 / /srv/art rw - fuse.sshfs op-03@store:/art rw
43 42 0:54 / /srv/art rw - ext4 /dev/vdb rw
"""


def test_a_line_is_read_as_the_manual_page_explains_it():
    assert Mount(Path("/mnt2"), "ext3", "/dev/root") == mounts_from(MOUNTINFO)[0]


def test_blanks_in_names_come_back():
    share = mounts_from(MOUNTINFO)[2]

    assert str(share) == "//nas/job tickets (cifs) mounted at /srv/job tickets"
    assert share.over_network


def test_the_nearest_mount_point_counts():
    mounts = mounts_from(MOUNTINFO)

    assert mount_of(Path("/srv/job tickets/mis/drop"), mounts).kind == "cifs"
    assert mount_of(Path("/srv/job tickets of old"), mounts).kind == "ext4"


def test_of_two_mounts_at_one_point_the_later_covers_the_earlier():
    assert mount_of(Path("/srv/art/posters"), mounts_from(MOUNTINFO)).source == "/dev/vdb"


def test_a_machine_without_a_list_of_mounts_has_no_answer():
    assert mount_of(Path("/srv"), ()) is None


def test_local_file_systems_are_not_taken_for_network_ones():
    assert [mount.over_network for mount in mounts_from(MOUNTINFO)] == [False, False, True, True, False]
