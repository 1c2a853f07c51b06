"""The customer's page: what happens, what we need, what to do if it smells of gas. Nothing technical, nobody's data."""

from __future__ import annotations

from stillbore.plan import Plan
from stillbore.report import words
from stillbore.report.common import document, made_for
from stillbore.report.document import CAUTION, Callout, Document, FillIn, Heading, Paragraph, Part, Points

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")


def customer(plan: Plan) -> Document:
    """The customer's page alone."""
    return document(plan, "customer", "Work on your gas supply", customer_part(plan))


def customer_part(plan: Plan) -> Part:
    """The customer's page as a part of a document."""
    day = made_for(plan)
    job = plan.survey.row("job")
    facts = (("Planned for", f"{day.day} {MONTHS[day.month - 1]} {day.year}"), ("Our job number", job.text("id")),
             ("Gas network", job.text("network")))
    return Part("customer", "Work on your gas supply", "For the people who live or work here", facts, (
        Callout(CAUTION, "If you smell gas", (
            "Leave the building. Do not smoke, light anything, or touch a switch, a bell or a phone inside.",
            "Call the gas emergency line from outside.",
        )),
        FillIn("", (("Gas emergency line", ""),)),
        Heading("What happens"),
        Points((
            words.CUSTOMER_HAPPENS[job.text("route")],
            "Before we start we come to the door, show who we are, and look at the meter with you.",
            "Your gas is off while we work. If other houses share the pipe, we tell them too.",
            "When we have finished, a qualified person checks your pipes and appliances and lights them again with "
            "you there, if your supply comes back." if job.text("route") != "cap and abandon" else
            "The gas supply through this pipe does not come back. Tell us at the door if you still use gas.",
            "We fill the pit and put the ground back. That can be on another day.",
        )),
        Heading("How long it takes"),
        Paragraph("We plan it for one working day and cannot promise a time. The people on site never hurry: if "
                  "something is not as it should be, they stop, tell you, and come back."),
        Heading("What we need from you"),
        Points((
            "Somebody at home when we come and when we finish. We cannot put the gas back on without you.",
            "A clear way to the meter and to every gas appliance.",
            "No smoking and no fires near the pit. Please keep children and pets away from it.",
            "Tell us if somebody here would be harmed by a day without heat, hot water or cooking. You need not say "
            "why. We agree with you what to do before we start.",
            "Please do not turn any valve yourself. We do that.",
        )),
        Heading("Who to ask"),
        FillIn("", (("Telephone, office hours", ""), ("Name of the team leader on the day", ""),
                    ("Your address", ""))),
    ), one_page=True)
