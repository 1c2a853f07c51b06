"""A small record of two devices and two people, made with fixed keys, so that it is the same every time."""


from stillbore.record import events as log
from stillbore.record.chain import Chains, export, seal_line
from stillbore.record.events import Event, Person, Value
from stillbore.record.verify import known_key
from stillbore.store.keys import Secret

SECRETS = {name: Secret(bytes([number]) * 32)
           for number, name in enumerate(("P1", "P2", "D1", "D2", "X"), 11)}
KNOWN_AS = {name: known_key(kind, name, SECRETS[name].public)
            for name, kind in (("P1", "person"), ("P2", "person"), ("D1", "device"), ("D2", "device"))}
KNOWN = frozenset(KNOWN_AS.values())
PEOPLE = (Person("P1", "team leader", SECRETS["P1"].public, "A-1", "2031-01-31"),
          Person("P2", "second operative", SECRETS["P2"].public, "A-2", "2031-01-31"))
ROLES = {person.id: person.role for person in PEOPLE}
STATEMENT = "ab" * 32


class Book:
    """Events written one after another, on any device."""

    def __init__(self, job="J-1", people=PEOPLE, opens=True):
        self.job, self.lines, self.chains, self.minute = job, [], Chains(), 0
        if opens:
            self.write("D1", "P1", log.Opened((log.FileHash("survey", "s.toml", "0" * 64),), "1" * 64, "0.1.0", people,
                                              SECRETS["D1"].public))

    def write(self, device, person, what, at=""):
        n, order, prev, after = self.chains.place(device)
        self.minute += 1
        at = at or f"2030-05-14T08:{self.minute:02d}:00+00:00"
        event = Event(self.job, device, n, order, person, ROLES[person], at, what, prev, "boot", 60_000 * self.minute,
                      "", "", after)
        self.add(seal_line(event))
        return event

    def add(self, line):
        self.lines.append(line)
        self.chains.add(line)

    def seal(self, device, secret=None):
        head = self.chains.heads[device].hash
        secret = secret or SECRETS[device]
        self.write(device, "P1", log.Sealed(head, secret.public, secret.sign(bytes.fromhex(head))))

    def sign(self, device, person, secret=None, statement=STATEMENT):
        secret = secret or SECRETS[person]
        self.write(device, person, log.Signed("B6", statement, secret.public, secret.sign(bytes.fromhex(statement))))

    def export(self, secret="D1"):
        return export(self.lines, "2030-05-14T12:00:00+00:00", "D1", SECRETS[secret].public, SECRETS[secret].sign)


def small_book():
    book = Book()
    book.write("D1", "P1", log.Answered("B6", "pressure", Value("30.2", "0.3", "mbar", instrument="G-11"), "met"))
    book.write("D2", "P2", log.Joined(SECRETS["D2"].public))
    book.write("D2", "P2", log.Noted("", "Stra\u00dfe, \u20ac, \U0001f600"))
    book.sign("D1", "P1")
    book.sign("D2", "P2")
    book.seal("D2")
    book.seal("D1")
    return book
