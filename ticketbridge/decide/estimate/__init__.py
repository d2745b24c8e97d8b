"""PURE: what a job will take: time, ink, roll."""
