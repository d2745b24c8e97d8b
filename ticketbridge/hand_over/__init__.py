"""From a decision to the press and back: write the lane's ticket, deliver it once, follow what happens."""
