"""Start-up and the loops: builds everything, watches, turns the flow, sends, and tells systemd how it goes."""
