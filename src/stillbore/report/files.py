"""The documents of a plan as bytes, ready to be written."""

from __future__ import annotations

import json

from stillbore.plan import Plan
from stillbore.plan.export import plan_json
from stillbore.report.customer import customer
from stillbore.report.html import to_html
from stillbore.report.pack import pack
from stillbore.report.pdf import to_pdf
from stillbore.report.sheet import sheet


def attachments(plan: Plan) -> dict[str, bytes]:
    """What is embedded in the PDF: the four files as they were read, and the plan. Where two files have one name, the
    later one's kind is put before it."""
    found: dict[str, bytes] = {}
    for kind, file in vars(plan.files).items():
        name = file.name if file.name not in found else f"{kind}-{file.name}"
        found[name] = file.text.encode("utf-8")
    found["plan.json"] = (json.dumps(plan_json(plan), indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
    return found


def pack_html(plan: Plan) -> bytes:
    """The job pack as one self-contained page."""
    return to_html(pack(plan)).encode("utf-8")


def pack_pdf(plan: Plan) -> bytes:
    """The job pack as PDF/A-3 with survey, kit, rule set, order of work and plan embedded."""
    return to_pdf(pack(plan), attachments(plan))


def sheet_pdf(plan: Plan) -> bytes:
    """The job sheet alone, with the same files embedded."""
    return to_pdf(sheet(plan), attachments(plan))


def customer_pdf(plan: Plan) -> bytes:
    """The customer's page alone; nothing technical is embedded."""
    return to_pdf(customer(plan), {})
