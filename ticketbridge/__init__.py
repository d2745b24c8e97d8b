"""A job ticket bridge between a print shop's MIS and its roll-to-roll wide-format presses.

The folders show the path that a ticket takes::

    accept      from a hot folder to a checked ticket        watch, settle, claim, read
    decide      PURE: from a ticket to a decision            map, lay out, judge, estimate, route
    hand_over   from a decision to the press and back        write, deliver, follow
    report      from what happened to those who asked        compose, send

``answer`` is what the bridge says to messages that come by HTTP; ``extract`` reads files of an MIS by the rows
of a mapping, and ``prove`` shows an administrator what a mapping does before it goes live.

``flow`` is the one place that moves a job from state to state; ``model`` holds the nouns; ``jdf``,
``spool``, ``store`` and ``config`` are the edges; ``daemon`` and ``cli`` start it all. ``press_sim`` is
a separate program that plays the press and shares nothing with the bridge but ``vocabulary``.
"""

__version__ = "0.1.0"
