"""Findings of the area ``config``: the shop folder, its files, its hot folders."""

from typing import Final

from ticketbridge.model.finding import Code, Severity

ERROR, WARNING = Severity.ERROR, Severity.WARNING

_FILES: Final = (
    Code(
        "config.shop-missing", ERROR,
        "There is no shop here: the folder is missing, or has none of a shop's files.",
        "Check the path, or make a new shop with: ticketbridge init DIR",
    ),
    Code(
        "config.shop-not-empty", ERROR,
        "The folder {folder} is not empty, so no shop was made in it.",
        "Name a folder that does not exist yet, or an empty one. Nothing was changed.",
    ),
    Code(
        "config.file-missing", ERROR,
        "The file {name} is missing.",
        "Every shop has it. Put it back, or take the one that ticketbridge init writes into a new folder.",
    ),
    Code(
        "config.file-unknown", ERROR,
        "The bridge would never read a file called {name}, so what it says has no effect.",
        "{hint}",
    ),
    Code(
        "config.file-unreadable", ERROR,
        "This cannot be read: {why}.",
        "Check what lies here and the rights of the account that the bridge runs under.",
    ),
)  # fmt: skip

_YAML: Final = (
    Code(
        "config.character", ERROR,
        "Here stands {character}, which no YAML file in UTF-8 may hold.",
        "Save the file as UTF-8 text and delete what stands here.",
    ),
    Code(
        "config.tab", ERROR,
        "Here stands a tab; YAML is indented with blanks only.",
        "Replace the tab with blanks, two for each level as in the rest of the file.",
    ),
    Code(
        "config.yaml-broken", ERROR,
        "The file is not valid YAML from here on: {problem}.",
        "Look here and in the line above for a missing colon, quote, bracket or blank. The rest of this file was not checked.",
    ),
    Code(
        "config.yaml-feature", ERROR,
        "Here stands {feature}; shop files are plain keys, lists and values.",
        "Write the values out where they are needed. The rest of this file was not checked.",
    ),
    Code(
        "config.key-twice", ERROR,
        'The key "{key}" was already given in line {first_line}.',
        "Keep one of the two.",
    ),
)  # fmt: skip

_VALUES: Final = (
    Code(
        "config.key-unknown", ERROR,
        'The key "{key}" is unknown here.',
        "{hint} Keys allowed here: {allowed}.",
    ),
    Code(
        "config.key-missing", ERROR,
        'The key "{key}" is missing here.',
        'Add "{key}:" with {allowed}.',
    ),
    Code(
        "config.value", ERROR,
        "It says {found}, but it must be {allowed}.",
        "{hint}",
    ),
    Code(
        "config.not-quoted", ERROR,
        "It says {found}, which YAML takes for a number or for true or false; it must be text.",
        'Write it in quotes: "{found}".',
    ),
    Code(
        "config.contradiction", ERROR,
        "This cannot be: {why}.",
        "Correct the value that is wrong.",
    ),
    Code(
        "config.range-reversed", ERROR,
        "The range runs from {low} down to {high}, so nothing lies in it.",
        "Write the lower end first.",
    ),
    Code(
        "config.time-zone", ERROR,
        "This machine knows no time zone {name}.",
        "{hint}",
    ),
)  # fmt: skip

_MAPPINGS: Final = (
    Code(
        "config.expression", ERROR,
        'The place "{at}" cannot be read: {reason}.',
        "Correct the expression. Prefixes in an XPath are those of reads.namespaces; try it on a file with: ticketbridge mapping try FILE",
    ),
    Code(
        "config.expression-endless", ERROR,
        'Reading the place "{at}" did not end within {limit}.',
        "Write an expression that names what it looks for instead of counting through everything.",
    ),
    Code(
        "config.default-unfit", ERROR,
        "The default {found} cannot be a {field}: it must be {allowed}.",
        "Write it in the unit of the field's name, decimals with a point, dates as YYYY-MM-DD.",
    ),
    Code(
        "config.table-unfit", ERROR,
        'The table {table} cannot fill {field}: {row}, means "{means}", and that must be {allowed}.',
        "Correct the row, or name another table.",
    ),
    Code(
        "config.table-file", ERROR,
        "The table's spreadsheet cannot be used: {reason}.",
        "A spreadsheet of a table lies beside the mapping and has the headings says and means; separator and encoding of a .csv file stand in tables.",
    ),
    Code(
        "config.table-row", ERROR,
        "This line of the table cannot be used: {reason}.",
        "Correct the line, or take it out.",
    ),
)  # fmt: skip

_TOGETHER: Final = (
    Code(
        "config.reference-unknown", ERROR,
        "There is no {kind} called {name}.",
        "{hint} Known in {home}: {known}.",
    ),
    Code(
        "config.id-twice", ERROR,
        "Another {kind} is already called {name}, in line {first_line}.",
        "Give each its own name.",
    ),
    Code(
        "config.folders-overlap", ERROR,
        "The folder {folder} is the same as, inside, or around another one: {other}.",
        "Give each source and each lane a folder of its own, none inside another.",
    ),
    Code(
        "config.lanes-overlap", ERROR,
        "Lane {lane} begins at {left_mm} mm, but lane {other} reaches to {other_right_mm} mm.",
        "Correct left_mm or width_mm so that the lanes lie beside each other on the beam. Only a lane for a wide roll may "
        "lie across others, and then wholly.",
    ),
    Code(
        "config.roll-too-wide", ERROR,
        "A roll of {roll_width_mm} mm cannot lie in lane {lane}, which is {lane_width_mm} mm wide.",
        "Correct the width of the roll or of the lane.",
    ),
    Code(
        "config.channel-unknown", ERROR,
        "No press has an ink channel {channel}.",
        "{hint} Known channels: {known}.",
    ),
    Code(
        "config.channel-not-fitted", WARNING,
        "No press has the channel {channel} fitted, so no lane can run this print mode.",
        "Add the channel to the press that has it, in presses.yaml, or leave the mode for later.",
    ),
    Code(
        "config.coverage-without-laydown", ERROR,
        "A typical coverage is given for {channel}, but laydown_ml_m2 has no such channel.",
        "{hint}",
    ),
    Code(
        "config.stack-without-ink", ERROR,
        'The layer stack "{stack}" needs the channel {channel}, but laydown_ml_m2 does not have it.',
        "Add the laydown of {channel}, or remove the stack from this mode.",
    ),
    Code(
        "config.mode-not-allowed", ERROR,
        "This row sends substrate {substrate} to print mode {print_mode}, which the catalogue does not allow on it.",
        "Allowed on {substrate}: {allowed}. Correct the row, or allow the mode in substrates.yaml.",
    ),
    Code(
        "config.stack-not-in-mode", ERROR,
        'This row sends the layer stack "{stack}" to print mode {print_mode}, which does not print it.',
        "{print_mode} prints {allowed}. Correct the row, or add the stack to the mode in print-modes.yaml.",
    ),
)  # fmt: skip

_FOLDERS: Final = (
    Code(
        "config.folder-missing", ERROR,
        "The folder {folder} does not exist.",
        "If it lies on a share, mount the share. If it is new, make the folder and an empty file .ticketbridge in it.",
    ),
    Code(
        "config.marker-missing", ERROR,
        "The folder {folder} has no file {marker}: its share is not mounted, or it is not the bridge's folder.",
        "Mount the share. Only if this is the right folder and nothing is mounted over it, make an empty file {marker} in it.",
    ),
    Code(
        "config.folder-twice", ERROR,
        "The folders {folder} and {other} are one and the same on this machine.",
        "Remove the link or the second mount, or configure another folder.",
    ),
    Code(
        "config.folder-unreachable", ERROR,
        "The account {account} cannot look into {folder}: {why}.",
        "Give the account {account} the right to enter that folder and those above it; on a share, see that it is alive.",
    ),
    Code(
        "config.folder-not-writable", ERROR,
        "The account {account} cannot {step} a file in {folder}: {why}.",
        "Give the account {account} the right to create, rename and remove files there.",
    ),
    Code(
        "config.folder-sticky", ERROR,
        "In {folder} the account {account} cannot rename files that others put there: the sticky bit is set.",
        "Take the sticky bit away (chmod -t), or give the folder to the account {account}.",
    ),
    Code(
        "config.folders-on-two-devices", ERROR,
        "{folder} lies on {mount}, but {other} lies on {other_mount}: a ticket cannot be renamed from one to the other.",
        "Put all folders of one source or lane on one file system.",
    ),
    Code(
        "config.store-on-network", ERROR,
        "The store in {folder} lies on a network file system: {mount}. Locks do not hold there, and the store breaks.",
        "Put the shop folder, or at least its state folder, on a disk of this machine; or keep the store in PostgreSQL: the key store of shop.yaml.",
    ),
    Code(
        "config.events-on-network", WARNING,
        "The folder {folder} lies on a network file system, {mount}, which reports no events.",
        "Set watch.events: false for this source; its timed scan finds every ticket all the same.",
    ),
    Code(
        "config.artwork-root-missing", WARNING,
        "The folder for artwork {folder} does not exist, or this account may not look into it.",
        "Mount its share or make the folder; until then artwork that lies there is not found.",
    ),
)  # fmt: skip

CODES: Final[tuple[Code, ...]] = _FILES + _YAML + _VALUES + _MAPPINGS + _TOGETHER + _FOLDERS
