"""The one place that moves a job: each step calls stages with plain values and commits once.

accepting   claimed files -> jobs, refusals, and what may be handed over at once
releasing   waiting jobs -> their lanes, by intention and evidence
following   what a press says -> the job's state, the roll's account, messages
rescue      what a crash left half done, at every start
reporting   messages into the outbox, in the transaction of the change they tell of
"""
