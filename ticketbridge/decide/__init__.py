"""PURE: from ticket to a decision with reasons. Map, lay out, estimate, judge, choose, release.

No files, no clock, no database: the same question always has the same answer.
"""
