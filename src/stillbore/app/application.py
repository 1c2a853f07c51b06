"""A stand-in for the pages, to try the hosts with: the jobs, one job's state, and a form for one answer."""

from __future__ import annotations

from importlib.resources import files
from urllib.parse import parse_qsl, quote

from jinja2 import DictLoader, Environment
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from stillbore import __version__
from stillbore.app.host import Host
from stillbore.errors import StillboreError
from stillbore.job.files import EXAMPLE_KIT, EXAMPLE_RULES, EXAMPLE_SURVEY, JobFiles, _procedure, example_text
from stillbore.job.kit import KIT
from stillbore.job.rules import RULES
from stillbore.job.schema import load_text
from stillbore.job.survey import SURVEY
from stillbore.plan import plan
from stillbore.record.events import Person
from stillbore.run.answers import value_of
from stillbore.run.session import Hand, Session
from stillbore.run.step import Refused
from stillbore.store.keys import check

PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>{{ title }}</title>
<link rel="stylesheet" href="/static/page.css"><script src="/tablet/htmx.min.js" defer></script></head>
<body hx-boost:inherited="true"><main><h1>{{ title }}</h1>{% block main %}{% endblock %}</main></body></html>"""
JOBS = """{% extends "page" %}{% block main %}<ul>{% for job in jobs %}<li><a href="/jobs/{{ job|urlencode }}">{{ job }}
</a></li>{% endfor %}</ul><form method="post" action="/jobs"><button>Open the example</button></form>{% endblock %}"""
JOB = """{% extends "page" %}{% block main %}<p>{{ state.number + 1 }} events, {{ state.barriers }} barriers</p>
{% if said %}<p role="alert">{{ said }}</p>{% endif %}
<form method="post" action="/jobs/{{ state.job|urlencode }}/answers">
<label>Question <input name="key" value="A1.address"></label><label>Answer <input name="value"></label>
<button>Record</button></form><ol>{% for key, answer in state.answers.items() %}<li>
{{ key }}: {{ answer.value.written }}</li>{% endfor %}</ol>{% endblock %}"""
TEMPLATES = Environment(loader=DictLoader({"page": PAGE, "jobs": JOBS, "job": JOB}), autoescape=True)


def make_app(host: Host) -> Starlette:
    def session(request: Request) -> Session:
        return Session(host.store, request.path_params["job"], host.device, host.clock, check)

    async def jobs(request: Request) -> Response:
        return _page("jobs", title="Jobs", jobs=host.store.jobs())

    async def start(request: Request) -> Response:
        kit, survey = load_text(KIT, example_text(EXAMPLE_KIT), "kit.toml"), load_text(
            SURVEY, example_text(EXAMPLE_SURVEY), "survey.toml")
        rules = load_text(RULES, example_text(EXAMPLE_RULES), "rules.toml")
        made = plan(JobFiles(survey, kit, rules, _procedure(survey, kit, None)))
        person = Person("P1", "team leader", "")
        done = Session.start(host.store, made, Hand("P1", "team leader"), (person,), host.device, host.clock, check,
                             program=__version__)
        await host.commit()
        return RedirectResponse(f"/jobs/{quote(done.job)}", 303)

    async def job(request: Request) -> Response:
        return _page("job", title=request.path_params["job"], state=session(request).state,
                     said=request.query_params.get("said", ""))

    async def answer(request: Request) -> Response:
        at, form = session(request), dict(parse_qsl((await request.body()).decode()))
        step, _, name = form.get("key", "").partition(".")
        try:
            ask = at.state.basis.asks[f"{step}.{name}"]
            found = at.answer(step, name, value_of(ask, form.get("value", "")), Hand("P1", "team leader"))
            said = "; ".join(found.reasons) if isinstance(found, Refused) else "Recorded."
        except (KeyError, StillboreError) as error:
            said = str(error)
        await host.commit()
        return RedirectResponse(f"/jobs/{quote(at.job)}?said={quote(said)}", 303)

    async def static(request: Request) -> Response:
        return Response(files("stillbore.app").joinpath("static/page.css").read_text(), media_type="text/css")

    return Starlette(routes=[Route("/", jobs), Route("/jobs", start, methods=["POST"]), Route("/jobs/{job}", job),
                             Route("/jobs/{job}/answers", answer, methods=["POST"]),
                             Route("/static/page.css", static)])


def _page(name: str, **about: object) -> Response:
    return HTMLResponse(TEMPLATES.get_template(name).render(**about))
