"""A simulated press: a program of its own that shares nothing with the bridge but the folders of its lanes.

It takes tickets from a folder, prints them in simulated time on one carriage, keeps a log of every piece it
laid down, and answers with JMF signals and the returned ticket, as a press of the shop would. The bridge can
be tried against it without a press, and what really reached the roll can be counted afterwards.

Read ``simulator`` for the flow, ``job`` for the life of one ticket, ``carriage`` for the time model.
"""

from ticketbridge.press_sim.program import run

__all__ = ["run"]
