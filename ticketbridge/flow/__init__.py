"""The one place that moves a job: each step calls stages with plain values and commits once.

Below, from what everything rests on upwards; a folder imports only from those above it in this list:

bridge, reporting, ...  what every step needs; messages into the outbox, in the transaction of the change they tell of
plan                    the order that waiting jobs go in, and what finished ones teach the estimates
press                   what a press says -> the job's state, the roll's account, messages, the returned ticket
lane                    waiting jobs -> their lanes, by intention and evidence
queue                   commands to queues and queue entries, by folder, by HTTP, by people
intake                  claimed files -> jobs, refusals, and what may be handed over at once
keep                    what a crash left half done; archives, backup, restore, verification
asked                   what people ask by command
"""
