"""What a log has to live through: killed writers, full disks, tails that never reached the disk, torn lines, clocks set
back. ``make torture`` prints the counts; the tests run a short one.

A kill alone proves little: the kernel keeps what a killed process wrote. So the write-ahead log is also cut at every
kind of place, as when the power goes, and ``strace`` counts the syncs before each acknowledgement.
"""

import argparse
import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

from made import START, Crew, opened

from stillbore.errors import StillboreError
from stillbore.record.chain import Chains, seal_line
from stillbore.record.events import Event, Noted
from stillbore.record.verify import END_OPEN, verify
from stillbore.store.sqlite import SqliteStore
from stillbore.store.sync import import_file, write_file

JOB = "J-1"
KILLS_A_FILE = 25  # then a new one, so that kills also fall into the making of a file
LONGEST_LIFE_S = 0.12


@dataclass
class Count:
    """What was tried, how often, and what came of it."""

    what: str
    tried: int
    found: str

    def __str__(self):
        return f"{self.what:34} {self.tried:6}  {self.found}"


def whole(store):
    """The lines of the job, if the record's own reader finds no fault in them and nothing waits."""
    lines = store.lines(JOB)
    assert store.waiting(JOB) == [] and store.check() == []
    if lines:
        report = verify(b"".join(line.raw + b"\n" for line in lines), lambda *_: True, ())
        assert (report.state, report.events) == (END_OPEN, len(lines)), report.sentence
    return lines


def next_line(store, chains, note=""):
    """One more line on D1's chain."""
    n, order, prev, after = chains.place("D1")
    at = (START + timedelta(seconds=n)).isoformat()
    line = seal_line(Event(JOB, "D1", n, order, "P1", "leader", at, Noted("", note) if n else opened(), prev,
                           after=after))
    store.append(line)
    chains.add(line)
    return line


# Killed


def write_until_killed(path, ack):
    """Append for ever, and say after each what is on disk; now and then close the file and open it again."""
    while True:
        with SqliteStore(path) as store:
            chains = Chains(store.lines(JOB))
            for _ in range(random.randrange(1, 15)):
                os.write(ack, f"{next_line(store, chains).hash}\n".encode())
                if random.random() < 0.1:
                    os.write(ack, f"{store.keep(random.randbytes(20_000))}\n".encode())


def one_life(path, seconds, seed):
    """Fork a writer, kill it after so long; what it acknowledged."""
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(reads)
            random.seed(seed)
            write_until_killed(path, writes)
        finally:
            os._exit(1)  # only where something raised: the parent sees that it was no kill
    os.close(writes)
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL, "the writer ended by itself"
    with os.fdopen(reads, "rb") as pipe:
        return [each.decode() for each in pipe.read().split(b"\n") if len(each) == 64]


def kills(folder, count, seed):
    """Kill a writer so many times at random moments; every acknowledged line and file is there each time."""
    chance, acknowledged, more, dead_before_any = random.Random(seed), 0, 0, 0
    for number in range(count):
        path = folder / f"killed{number // KILLS_A_FILE}.db"
        if number % KILLS_A_FILE == 0:
            promised, before = set(), 0
        told = one_life(path, chance.uniform(0.0, LONGEST_LIFE_S), chance.random())
        promised.update(told)
        acknowledged += len(told)
        dead_before_any += not told
        with SqliteStore(path) as store:
            lines = whole(store)
            hashes = {line.hash for line in lines}
            assert all(each in hashes or store.kept(each) for each in promised)
            more += len(hashes - promised) - before
            before = len(hashes - promised)
    return Count("SIGKILL of a writer", count, f"{acknowledged} acknowledged, 0 lost; {more} on disk that were killed "
                 f"before they were acknowledged; {dead_before_any} killed before the first")


# The power goes


def cut_tails(folder, count, seed):
    """Cut the write-ahead log anywhere, or fill it with rubbish from there on, as when what was not synced is lost. A
    line is there exactly if the log was synced up to it: so many bytes it had when the line was acknowledged."""
    chance, path = random.Random(seed), folder / "power.db"
    sizes = []
    with SqliteStore(path) as store:
        store._database.connection.execute("PRAGMA wal_autocheckpoint = 0")
        chains, wal = Chains(), Path(f"{path}-wal")
        made = wal.stat().st_size
        for _ in range(60):
            next_line(store, chains, "x" * chance.randrange(3000))
            sizes.append(wal.stat().st_size)
        image, log = path.read_bytes(), wal.read_bytes()
    for number in range(count):
        cut = chance.choice([chance.randrange(made, len(log)), chance.choice(sizes) - chance.randrange(2)])
        copy = folder / f"cut{number}.db"
        copy.write_bytes(image)
        left = log[:cut] + chance.choice([b"", chance.randbytes(len(log) - cut), bytes(len(log) - cut)])
        Path(f"{copy}-wal").write_bytes(left)
        with SqliteStore(copy) as store:
            lines = whole(store)
            assert len(lines) == sum(left[cut:size] == log[cut:size] for size in sizes if size <= len(left)), cut
            next_line(store, Chains(lines))
        copy.unlink()
    return Count("unsynced tail of the log lost", count, f"every line synced before the cut there, none after it, of "
                 f"{len(sizes)}; the log goes on")


# Full


def fill(path, make_room):
    """Append until the disk is full; then read all that was acknowledged, make room, and go on. What came of it."""
    promised, store = [], SqliteStore(path)
    chains = Chains()
    try:
        while True:
            promised.append(next_line(store, chains, "x" * 500))
    except StillboreError as error:
        assert "disk" in error.what and error.fix, error
        told = error
    with SqliteStore(path) as reader:  # somebody else, who only wants to read
        assert reader.lines(JOB)[:len(promised)] == promised
        left = len(reader.lines(JOB)) - len(promised)
        assert left in (0, 1)
    store.close()
    with SqliteStore(path) as again:  # and on a disk that is still full
        assert again.lines(JOB)[:len(promised)] == promised
    make_room()
    with SqliteStore(path) as store:
        chains = Chains(whole(store))
        next_line(store, chains)
    return f"{len(promised)} acknowledged, 0 lost, then: {told.what}"


def in_child(function):
    """Run in a fork, so that limits set there stay there; its text, or an AssertionError."""
    reads, writes = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.write(writes, f"ok {function()}".encode())
        except BaseException as error:
            os.write(writes, f"{type(error).__name__}: {error}".encode())
        finally:
            os._exit(0)
    os.close(writes)
    with os.fdopen(reads, "rb") as pipe:
        said = pipe.read().decode()
    os.waitpid(child, 0)
    assert said.startswith("ok "), said
    return said[3:]


def full_by_limit(folder):
    """The kernel lets no file grow beyond 300 kB (RLIMIT_FSIZE): not a full disk, but the same refusal in the middle of
    a write."""
    def limited():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        soft, hard = 300_000, resource.getrlimit(resource.RLIMIT_FSIZE)[1]
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        return fill(folder / "limit.db", lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard)))

    return Count("file grows no more (RLIMIT_FSIZE)", 1, f"{in_child(limited)} Read so, and went on")


def full_disk(folder):
    """A disk of 700 kB of its own that is really full, where this user may mount one in a namespace of its own."""
    inner = f"mount -t tmpfs -o size=700k tmpfs '{folder}' && exec '{sys.executable}' '{__file__}' --fill '{folder}'"
    if not shutil.which("unshare"):
        return Count("full disk (tmpfs)", 0, "NOT TRIED: there is no unshare here")
    ran = subprocess.run(["unshare", "--map-root-user", "--mount", "sh", "-c", inner], capture_output=True, text=True,
                         check=False)
    if "unshare" in ran.stderr or "mount:" in ran.stderr:
        return Count("full disk (tmpfs)", 0, f"NOT TRIED: {ran.stderr.strip()}")
    assert ran.returncode == 0, ran.stderr
    return Count("full disk (tmpfs)", 1, f"{ran.stdout.strip()} Read while full, and went on")


def fill_disk(folder):
    """In the namespace of ``full_disk``: part of the disk is taken by a file that is then thrown away."""
    ballast = folder / "ballast"
    ballast.write_bytes(bytes(150_000))
    print(fill(folder / "jobs.db", ballast.unlink))


# Torn lines, clocks


def torn_lines(folder, step=1):
    """An exported log cut at every byte (or every so many) of its last two lines: what is whole is taken."""
    crew = Crew()
    crew.write("D1", opened())
    for _ in range(9):
        crew.write("D1")
    path = folder / "torn.jsonl"
    with SqliteStore(folder / "torn.db") as store:
        store.take(crew.raw)
        write_file(store, JOB, path)
    data = path.read_bytes()
    cuts = range(len(data) - len(crew.raw[-1]) - len(crew.raw[-2]) - 1, len(data), step)
    with SqliteStore(folder / "taken.db") as store:
        for cut in cuts:
            path.write_bytes(data[:cut])
            taken = import_file(store, path)
            ended = sum(end <= cut for end in [data.index(raw) + len(raw) for raw in crew.raw])
            assert taken.new + taken.known == ended and taken.refused <= 1
            assert store.lines(JOB) == crew.lines[:len(store.lines(JOB))]
    return Count("torn last line of an export", len(cuts), "all whole lines taken, the torn one refused")


def clocks_set_back(folder, count, seed):
    """The clock jumps back or forward before every line: order and chain do not hang on it, and it is asked about."""
    chance = random.Random(seed)
    with SqliteStore(folder / "clock.db") as store:
        chains, written, back, at = Chains(), [], 0, START
        for number in range(count):
            n, order, prev, after = chains.place("D1")
            before, at = at, START + timedelta(seconds=chance.randrange(-10**8, 10**8))
            back += number > 0 and at < before
            line = seal_line(Event(JOB, "D1", n, order, "P1", "leader", at.isoformat(),
                                   Noted("", "") if n else opened(), prev, after=after))
            store.append(line)
            chains.add(line)
            written.append(line)
        assert whole(store) == written
        report = verify(b"".join(line.raw + b"\n" for line in written), lambda *_: True, ())
        assert sum("went back" in each for each in report.questions) == back > 0
    return Count("clock set back or forward", count, f"order kept; {back} times back, {back} questions")


# Counting the syncs

CALL = re.compile(r"^(?:\d+ +)?(pwrite64|pwritev|write|fdatasync|fsync)\(\d+<([^>]*)>(.*)$")


def synced(trace, store_name):
    """From strace's text: how many acknowledgements there were, and how many of them came after a sync of the store's
    files with nothing written to them since; the shared-memory index is no part of what is kept."""
    acknowledged = proved = 0
    dirty, synced_once = set(), False
    for text in trace.splitlines():
        call = CALL.match(text)
        if not call:
            continue
        name, path, rest = call.groups()
        ours = Path(path).name in (store_name, f"{store_name}-wal", f"{store_name}-journal")
        if name in ("fdatasync", "fsync"):
            if ours and rest.rstrip().endswith("= 0"):
                dirty.discard(path)
                synced_once = True
        elif ours:
            dirty.add(path)
        elif '"ack' in rest:
            acknowledged += 1
            proved += synced_once and not dirty
            synced_once = False
    return acknowledged, proved


def syncs(folder, count, synchronous="FULL"):
    """Run a writer under strace; what ``synced`` makes of it. ``synchronous`` NORMAL is the control: it must fail."""
    trace, path = folder / f"{synchronous}.trace", folder / f"{synchronous}.db"
    subprocess.run(["strace", "-y", "-s", "16", "-e", "trace=pwrite64,pwritev,write,fdatasync,fsync", "-o", str(trace),
                    sys.executable, __file__, "--write", str(path), str(count), synchronous], check=True,
                   capture_output=True)
    return synced(trace.read_text(encoding="utf-8", errors="replace"), path.name)


def write_and_say(path, count, synchronous):
    """Every kind of write, each acknowledged on standard output."""
    with SqliteStore(path) as store:
        store._database.connection.execute(f"PRAGMA synchronous = {synchronous}")
        chains = Chains()
        for _ in range(count):
            line = next_line(store, chains)
            os.write(1, b"ack\n")
        elsewhere = [seal_line(replace(line.event, device=f"E{number}", n=0, prev="")).raw for number in range(3)]
        for again in (lambda: store.append(line), lambda: store.keep(b"photo"), lambda: store.keep(b"photo"),
                      lambda: store.take(elsewhere), lambda: store.take(elsewhere),
                      lambda: store.put_aside(JOB, "P1", {"name": "x"})):
            again()
            os.write(1, b"ack\n")


def counted_syncs(folder, count):
    if not shutil.which("strace"):
        return Count("fdatasync before acknowledging", 0, "NOT TRIED: strace is not installed (package strace)")
    acknowledged, proved = syncs(folder, count)
    assert acknowledged == proved == count + 6, (acknowledged, proved)
    control = syncs(folder, count, "NORMAL")
    assert control[0] == count + 6 and control[1] < 6, control
    return Count("fdatasync before acknowledging", acknowledged, f"{proved} of {acknowledged} acknowledgements after a "
                 f"sync (control, synchronous NORMAL: {control[1]} of {control[0]})")


def main():
    parser = argparse.ArgumentParser(description="Torture the store and print the counts.")
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=20260505)
    parser.add_argument("--write", nargs=3, help=argparse.SUPPRESS)
    parser.add_argument("--fill", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.write:
        return write_and_say(Path(asked.write[0]), int(asked.write[1]), asked.write[2])
    if asked.fill:
        return fill_disk(asked.fill)
    begin = time.perf_counter()
    print(f"{'what':34} {'times':>6}  found")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        parts = (lambda: kills(folder, asked.kills, asked.seed), lambda: cut_tails(folder, 1000, asked.seed),
                 lambda: counted_syncs(folder, 200), lambda: full_disk(folder), lambda: full_by_limit(folder),
                 lambda: torn_lines(folder), lambda: clocks_set_back(folder, 200, asked.seed))
        for part in parts:
            print(part(), flush=True)
    print(f"{time.perf_counter() - begin:.0f} s, seed {asked.seed}")


if __name__ == "__main__":
    with suppress(KeyboardInterrupt):
        main()
