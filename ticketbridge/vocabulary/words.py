"""Closed lists of JDF and JMF that both sides use, as the schema of JDF 1.9 has them."""

from typing import Final

NODE_STATUSES: Final = (
    "Waiting", "TestRunInProgress", "Ready", "FailedTestRun", "Setup", "InProgress", "Cleanup", "Spawned",
    "Suspended", "Stopped", "Completed", "Aborted", "Part", "Pool",
)  # fmt: skip
"""``JDF@Status`` and ``JobPhase@Status``."""

DEVICE_STATUSES: Final = ("Unknown", "Idle", "Down", "Setup", "Running", "Cleanup", "Stopped")
"""``DeviceInfo@DeviceStatus``."""

QUEUE_ENTRY_STATUSES: Final = (
    "Running", "Waiting", "Held", "Removed", "Suspended", "PendingReturn", "Completed", "Aborted",
)  # fmt: skip
"""``QueueEntry@Status``."""

NOTIFICATION_CLASSES: Final = ("Event", "Information", "Warning", "Error", "Fatal")
"""``Notification@Class``, rising."""

LAYER_WORDS: Final = ("Color", "White", "Clear")
"""Words of our own ``tb:LayerStack``, listed first printed first; the standard has no attribute for it."""

PART_ID_KEYS: Final = (
    "BinderySignatureName", "BinderySignaturePaginationIndex", "BlockName", "BundleItemIndex", "CellIndex",
    "Condition", "DeliveryUnit0", "DeliveryUnit1", "DeliveryUnit2", "DeliveryUnit3", "DeliveryUnit4",
    "DeliveryUnit5", "DeliveryUnit6", "DeliveryUnit7", "DeliveryUnit8", "DeliveryUnit9", "DocCopies",
    "DocIndex", "DocRunIndex", "DocSheetIndex", "DocTags", "Edition", "EditionVersion", "FountainNumber",
    "ItemNames", "LayerIDs", "Location", "Metadata0", "Metadata1", "Metadata2", "Metadata3", "Metadata4",
    "Metadata5", "Metadata6", "Metadata7", "Metadata8", "Metadata9", "Option", "PageNumber", "PageTags",
    "PlateLayout", "PartVersion", "PreflightRule", "ProductPart", "PreviewType", "RibbonName", "Run",
    "RunIndex", "RunPage", "RunTags", "RunSet", "SectionIndex", "Separation", "SetCopies", "SetDocIndex",
    "SetIndex", "SetRunIndex", "SetSheetIndex", "SetTags", "SheetIndex", "SheetName", "Side",
    "SignatureName", "StationName", "SubRun", "TileID", "WebName", "WebProduct", "WebSetup",
)  # fmt: skip
"""The keys that ``PartIDKeys`` may name, which split a resource into parts."""
