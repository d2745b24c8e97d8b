"""What people ask by command, done by the one who moves jobs."""

from ticketbridge.flow.asked.dead_letters import MESSAGE_WISHES, answer_about_messages
from ticketbridge.flow.asked.retrying import retry
from ticketbridge.flow.asked.rolls import ROLL_WISHES, answer_about_rolls
from ticketbridge.flow.bridge import Bridge
from ticketbridge.flow.plan.planning import accept_plan
from ticketbridge.flow.queue.changing import about_a_job
from ticketbridge.flow.queue.commanding import QUEUE_WISHES, answer_about_lanes
from ticketbridge.model.codes import refuses
from ticketbridge.model.request import Reply, Request, Wish


def answer(bridge: Bridge, request: Request, request_id: str) -> Reply:
    """Do what is asked, or say why not. The same request again, after a crash, changes nothing a second time."""
    if request.wish is Wish.RETRY:
        findings = retry(bridge, [str(name) for name in request.args.get("names", ())])
    elif request.wish is Wish.PLAN:
        findings = accept_plan(bridge, request, request_id)
    elif request.wish in ROLL_WISHES:
        findings = answer_about_rolls(bridge, request, request_id)
    elif request.wish in MESSAGE_WISHES:
        findings = answer_about_messages(bridge, request, request_id)
    elif request.wish in QUEUE_WISHES:
        findings = answer_about_lanes(bridge, request)
    else:
        with bridge.store.transaction() as tx:
            findings = (about_a_job(bridge, tx, request, request_id),)
    return Reply(not refuses(findings), findings)
