"""PURE: in which order, on which lane and beside what the waiting jobs are printed.

``problem`` says what is known, ``blocks`` what a plan is made of, ``timetable`` what a plan costs, ``search``
finds a good one and ``bound`` proves how much better it could possibly be. ``shop_problem`` and
``shop_plan`` translate between the shop and these.
"""
