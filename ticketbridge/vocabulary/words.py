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
