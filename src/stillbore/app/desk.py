"""What the pages work with: the host, the jobs that are open on it, and the files of each job as they are drafted."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from stillbore.app.addresses import shelf_of
from stillbore.app.host import KEYS, Host
from stillbore.errors import InputFaults, StillboreError
from stillbore.gauge.growing import Growing
from stillbore.job.files import JobFiles, job_of_texts
from stillbore.plan import Plan
from stillbore.plan import plan as work_out
from stillbore.run.files import plan_kept
from stillbore.run.kept_plan import kept_plan, unlike
from stillbore.run.newer import Newer
from stillbore.run.session import Hand, Session
from stillbore.store import keys

KINDS = ("survey", "kit", "rules", "procedure")
MOST_PLANS = 32  # kept in memory, and as many logs that are being taken; the list of jobs looks at one for each job
HANDED = "handed_over.txt"  # how many events had left the device when the record was last handed over
KEY_LIST = "keys.toml"


@dataclass
class Desk:
    """One for each running app. Sessions are kept open, and read again when the store has more than they know."""

    host: Host
    _sessions: dict[str, Session] = field(default_factory=dict)
    _plans: dict[tuple[str, ...], Plan] = field(default_factory=dict)
    _growing: dict[tuple[str, str], Growing] = field(default_factory=dict)

    def session(self, job: str) -> Session:
        """A job that was opened. Raises StillboreError where it was not."""
        session = self._sessions.get(job)
        if session is None:
            session = Session(self.host.store, job, self.host.device, self.host.clock, keys.check)
            self._sessions[job] = session
        known = {(device, line.event.n, line.hash) for device, line in session.chains.heads.items()}
        if {(head.device, head.n, head.hash) for head in self.host.store.heads(job)} != known:
            session.refresh()
        return session

    def opened(self, session: Session) -> None:
        self._sessions[session.job] = session

    def is_open(self, job: str) -> bool:
        """Whether the job has a log here."""
        return job in self._sessions or job in self.host.store.jobs()

    async def commit(self) -> None:
        """Wait until all that was written is on disk. What could not be kept is forgotten here too."""
        try:
            await self.host.commit()
        except StillboreError:
            self._sessions.clear()
            raise

    def hand(self, session: Session, person: str, paper_at: str = "") -> Hand:
        """Somebody on the job, in that person's role, with this device on the job. Raises StillboreError."""
        people = session.state.people
        if person not in people:
            raise StillboreError(f"{person or 'Nobody'} is not on this job.",
                                 f"Say who you are: {', '.join(sorted(people))}.")
        hand = Hand(person, people[person].role, paper_at)
        if session.state.replayed:
            raise StillboreError("This job was replayed from a file; nothing can be added to it by hand.",
                                 "Start a job of its own.")
        session.join(hand)
        return hand

    def growing(self, job: str, ask: str) -> Growing:
        """What the judge of the log that is being taken for a question has taken so far."""
        if len(self._growing) > MOST_PLANS:
            self._growing.clear()
        return self._growing.setdefault((job, ask), Growing())

    # Drafts

    def texts(self, job: str) -> dict[str, str]:
        """The files of a job as they are drafted, by kind; only those that are there."""
        shelf = shelf_of(job)
        there = set(self.host.documents.list(shelf))
        return {kind: self.host.documents.read(shelf, f"{kind}.toml") for kind in KINDS if f"{kind}.toml" in there}

    def drafted(self, job: str) -> JobFiles:
        """The files that the draft makes. What a job under way does not draft stays as it is kept with the job, and is
        never exchanged for what a newer program ships. Raises InputFaults."""
        texts = self.texts(job)
        if not self.is_open(job):
            return job_of_texts(texts)
        kept = self.counted_plan(job).files
        names = {kind: file.name for kind, file in vars(kept).items() if kind not in texts}
        whole = {kind: file.text for kind, file in vars(kept).items()} | texts
        found = job_of_texts(whole, names)
        if "procedure" in texts or _way(found) == _way(kept):
            return found
        return job_of_texts({kind: text for kind, text in whole.items() if kind != "procedure"}, names)

    def draft_plan(self, job: str) -> Plan:
        """The plan of the draft, worked out once for the same files. Raises InputFaults."""
        files = self.drafted(job)
        return self._once(files)

    def counted_plan(self, job: str) -> Plan:
        """The plan that the job goes by: of its log where it was opened, else of the draft. Raises InputFaults."""
        if not self.is_open(job):
            return self.draft_plan(job)
        session = self.session(job)
        key = ("log", job, session.state.basis.plan)
        if key not in self._plans:
            self._keep(key, session.plan())
        return self._plans[key]

    def newer(self, job: str) -> tuple[tuple[Newer, ...], tuple[str, ...]]:
        """What this program has otherwise than the job goes by, and the numbers of its plan that would come out
        otherwise here; nothing where the job has ended."""
        session = self.session(job)
        found = session.newer()
        if not any(each.sort == "program" for each in found):
            return found, ()
        kept = plan_kept(session.planned.files, self.host.store.kept)
        return found, tuple(unlike(kept, kept_plan(self.counted_plan(job))))

    def _once(self, files: JobFiles) -> Plan:
        key = tuple(file.sha256 for file in vars(files).values())
        if key not in self._plans:
            self._keep(key, work_out(files))
        return self._plans[key]

    def _keep(self, key: tuple[str, ...], plan: Plan) -> None:
        if len(self._plans) > MOST_PLANS:
            self._plans.clear()
        self._plans[key] = plan

    def write(self, job: str, kind: str, text: str) -> None:
        self.host.documents.write(shelf_of(job), f"{kind}.toml", text)

    # Jobs

    def jobs(self) -> list[str]:
        """Every job: those with a log, and drafts that have none yet."""
        opened = self.host.store.jobs()
        shelves = {shelf_of(job) for job in opened}
        drafts = [shelf for shelf in self.host.documents.shelves() if shelf != KEYS and shelf not in shelves
                  and "survey.toml" in self.host.documents.list(shelf)]
        return sorted([*opened, *map(_job_of_shelf, drafts)])

    def blocks(self, job: str) -> list[str]:
        """What stands against a job's next step now, or against its beginning; worst first."""
        try:
            if not self.is_open(job):
                plan = self.draft_plan(job)
                return [found[0].what for found in plan.open_holds.values()]
            session = self.session(job)
        except InputFaults as error:
            return [f"{fault.place}: {fault.what}" for fault in error.faults]
        except StillboreError as error:
            return [error.what]
        state = session.state
        if state.ended or not state.next_steps:
            return []
        if state.stopped:
            return [f"STOP: {state.stopped}"]
        return session.against(session.step(state.next_steps[0]))

    def since_handed(self, job: str) -> int:
        """How many events of a job have not left this device since the record was last handed over."""
        shelf = shelf_of(job)
        count = 0
        if HANDED in self.host.documents.list(shelf):
            text = self.host.documents.read(shelf, HANDED).strip()
            count = int(text) if text.isdecimal() and text.isascii() else 0
        return max(len(self.session(job).lines) - count, 0)

    def handed_over(self, job: str) -> None:
        self.host.documents.write(shelf_of(job), HANDED, f"{len(self.session(job).lines)}\n")

    # Keys

    def public_keys(self) -> dict[str, str]:
        """Whose public key is known here: of secrets made on this device, and of the key list that was brought in."""
        documents = self.host.documents
        found: dict[str, str] = {}
        for name in documents.list(KEYS):
            if name == KEY_LIST:
                found.update(keys.read_keys(documents.read(KEYS, name), name).people)
        for name in documents.list(KEYS):
            if name.endswith(".secret"):
                found[name.removesuffix(".secret")] = keys.public_of(documents.read(KEYS, name), name)
        return found

    def secrets(self) -> list[str]:
        """Who has a secret on this device."""
        return [name.removesuffix(".secret") for name in self.host.documents.list(KEYS) if name.endswith(".secret")]

    def known(self, extra: Iterable[str] = ()) -> frozenset[str]:
        """Whose keys this device knows, as a verification wants it."""
        from stillbore.record.verify import known_key

        people = {known_key("person", *pair) for pair in self.public_keys().items()}
        return frozenset({*people, known_key("device", self.host.device.name, self.host.device.key), *extra})


def _way(files: JobFiles) -> tuple[str, ...]:
    """What an order of work that nobody wrote is put together for."""
    return tuple(str(file.value(name)) for file, name in (
        (files.survey, "job.route"), (files.kit, "kit.procedure"), (files.kit, "travel.counted_from")))


def _job_of_shelf(shelf: str) -> str:
    if not shelf.startswith("job-"):
        return shelf
    try:
        return bytes.fromhex(shelf[4:]).decode("utf-8")
    except ValueError:
        return shelf
