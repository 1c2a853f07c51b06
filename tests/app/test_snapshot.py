"""The interpreter kept with the app loaded in it: the next start takes it up, and does without where it is damaged."""

import pytest

STARTS = "performance.getEntriesByType('mark').map(each => each.name)"
FILE = """async (change) => {
  const folder = await navigator.storage.getDirectory();
  const handle = await folder.getFileHandle("interpreter").catch(() => null);
  if (!handle) return 0;
  const size = (await handle.getFile()).size;
  if (change) {
    const out = await handle.createWritable({ keepExistingData: true });
    if (change === "cut") await out.truncate(size - 70000);
    else await out.write({ type: "write", position: Math.floor(size / 2), data: new Uint8Array([change]) });
    await out.close();
  }
  return size;
}"""
KEPT, LOADED = "worker: snapshot", "worker: packages"


def kept_size(tablet):
    """Of the file, once it is there whole."""
    for _ in range(200):
        size = tablet.page.evaluate(FILE, None)
        if size > 1_000_000:
            return size
        tablet.page.wait_for_timeout(100)
    raise AssertionError("nothing was kept")


def begin_anew(tablet):
    tablet.close()
    tablet.open()
    tablet.visit("/en/")
    return tablet.page.evaluate(STARTS)


def test_the_next_start_takes_up_what_the_first_has_kept(tablet, depot):
    assert LOADED in tablet.page.evaluate(STARTS)
    size = kept_size(tablet)
    assert tablet.ask("POST", "/en/new", "number=J-0001&start=example")[0] == 200
    plan = tablet.ask("GET", "/en/jobs/J-0001/plan")
    device = tablet.state()["key"]
    depot.stop()
    for _ in range(2):
        marks = begin_anew(tablet)
        assert KEPT in marks and LOADED not in marks
        assert tablet.ask("GET", "/en/jobs/J-0001/plan") == plan and plan[0] == 200
        assert tablet.state()["key"] == device
        assert kept_size(tablet) == size


@pytest.mark.parametrize("damage", [255, "cut"])
def test_one_that_is_damaged_is_not_used_and_made_anew(tablet, depot, damage):
    size = kept_size(tablet)
    depot.stop()
    tablet.page.evaluate(FILE, damage)
    marks = begin_anew(tablet)
    assert LOADED in marks and KEPT not in marks
    assert tablet.ask("GET", "/en/")[0] == 200
    assert kept_size(tablet) == size
    assert KEPT in begin_anew(tablet)
