"""The main job, watched: an invented shop, real files, the real bridge and the simulated presses as processes.

Everything about *Harbourlight Graphics* and its customers is made up; nothing here is a check of anything
but the demo itself.
"""
