"""Many browser sessions at once on one workbench: errors, cross-talk, memory, and latency against one session alone.

Run from the top of the project: python -m tests.benchmarks.load_app [sessions] [minutes]
Each session moves a slider of its own page at its own pace, from a place of its own. After every step the page must
show the cost that the job gives for exactly this session's limit, computed beforehand without a browser: a cost of
another session, or none, is told as an error. Exit code 1 on any error, or if memory still grows in the second half.
"""

import asyncio
import random
import statistics
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

from playwright.async_api import Browser, Page, async_playwright

from optiform.brief.file import brief_of
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.properties.cost import cost
from optiform.reading.documents import read_document
from optiform.reading.paths import DEMO
from tests.ui.browser import ARGUMENTS, CHROMIUM, workbench

LIMIT = "active surfactant"
FIRST, STEP, STEPS = 2.5, 0.1, 14
PAUSE = (4.0, 10.0)  # seconds between two steps of a session, drawn evenly: a maker who looks at what came out
RAMP = 8.0  # seconds between the coming of two sessions; only steps with all of them there are counted
PATIENCE = 60_000  # milliseconds
GROWTH = 1.10  # of memory from the middle of the run to its end


@dataclass
class Told:
    """What the sessions saw."""

    waits: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


def expected() -> list[str]:
    """The cost the page must show with the limit moved by 0, 1, 2, ... steps."""
    document = read_document(DEMO / "brief.toml")
    shown = []
    for n in range(STEPS + 1):
        document["limits"][LIMIT] = {"low": FIRST + n * STEP}
        brief = brief_of(DEMO / "brief.toml", document)
        answer = design(brief)
        assert isinstance(answer, Designed)
        shown.append(f"{cost(brief.currency).of(answer.report.formula):.3f}")
    assert len(set(shown)) == len(shown), "every step must show another cost"
    return shown


async def session(
    browser: Browser, url: str, number: int, full: float, end: float, costs: list[str], told: Told
) -> None:
    """One maker: up and down the slider until the time is over; steps count from `full` on."""
    drawn = random.Random(number)
    await asyncio.sleep(RAMP * number)  # makers do not come in the same second, and this browser draws them all
    context = await browser.new_context()
    page = await context.new_page()
    page.on("pageerror", lambda error: told.errors.append(f"session {number}: {error}"))
    try:
        await page.goto(url, wait_until="domcontentloaded", timeout=PATIENCE)
        await shows(page, costs[0])
        await page.locator(f"[class*='st-key-limit-{LIMIT.replace(' ', '-')}-']").get_by_role("slider").first.focus()
        at = 0
        for _ in range(number % (STEPS // 2)):  # to a place of its own
            at = await moved(page, at, 1, costs, Told())
        way = 1
        while time.monotonic() < end:
            await asyncio.sleep(drawn.uniform(*PAUSE))
            way = -1 if at == STEPS else 1 if at == 0 else way
            at = await moved(page, at, way, costs, told if time.monotonic() > full else Told())
        if await page.locator("[data-testid=stException]").count():
            told.errors.append(f"session {number}: a traceback on the page")
    except Exception as error:  # every fault of a session is told, none ends the run
        seen = await page.locator("[data-testid=stMetricValue]").all_inner_texts()
        told.errors.append(f"session {number}: {type(error).__name__}, the page shows {seen}: {str(error)[:200]}")
    finally:
        await context.close()


async def moved(page: Page, at: int, way: int, costs: list[str], told: Told) -> int:
    """One step of the slider; gives its new place once the page shows the right cost."""
    start = time.monotonic()
    await page.keyboard.press("ArrowRight" if way > 0 else "ArrowLeft")
    await shows(page, costs[at + way])
    told.waits.append(1000 * (time.monotonic() - start))
    return at + way


async def shows(page: Page, text: str) -> None:
    """Wait until the page shows this cost."""
    shown = "text => document.querySelector('[data-testid=stMetricValue]')?.innerText === text"
    await page.wait_for_function(shown, arg=text, timeout=PATIENCE)


def memory(port: str) -> float:
    """Resident memory of the server, MB."""
    for place in Path("/proc").glob("[0-9]*"):
        try:
            words = (place / "cmdline").read_text().split("\0")
            if "app" in words and port in words:
                line = next(row for row in (place / "status").read_text().splitlines() if row.startswith("VmRSS"))
                return int(line.split()[1]) / 1024
        except OSError:  # gone in the meantime
            continue
    return 0.0


async def run(browser: Browser, url: str, sessions: int, seconds: float, costs: list[str]) -> tuple[Told, list[float]]:
    """So many sessions for so long; what they saw, and the memory of the server every ten seconds."""
    told, used = Told(), []
    full = time.monotonic() + RAMP * (sessions - 1)
    makers = [asyncio.create_task(session(browser, url, n, full, full + seconds, costs, told)) for n in range(sessions)]
    while not all(each.done() for each in makers):
        used.append(memory(url.rpartition(":")[2]))
        await asyncio.wait(makers, timeout=10)
    return told, used


async def main(sessions: int, minutes: float) -> int:
    """Print the figures; 1 if anything went wrong."""
    costs = expected()
    async with async_playwright() as playwright:
        browser = await playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        with workbench() as url:
            alone, _ = await run(browser, url, 1, min(120.0, 60 * minutes), costs)
            many, used = await run(browser, url, sessions, 60 * minutes, costs)
        await browser.close()
    print("\n".join(errors := alone.errors + many.errors) or "no error")
    base = statistics.median(alone.waits)
    print(f"one session: {len(alone.waits)} steps, median {base:.0f} ms")
    cuts = statistics.quantiles(many.waits, n=100)
    print(f"{sessions} sessions for {minutes:g} min: {len(many.waits)} steps, each shown the cost of its own limit")
    print("  as ratios to one session: " + ", ".join(f"p{p} {cuts[p - 1] / base:.1f}" for p in (50, 90, 95, 99)))
    half = used[len(used) // 2 :]
    middle, last = statistics.median(half[: len(half) // 3 + 1]), statistics.median(half[-(len(half) // 3 + 1) :])
    print(f"  memory of the server: {used[0]:.0f} MB at the start, {middle:.0f} in the middle, {last:.0f} at the end")
    return int(bool(errors) or last > GROWTH * middle)


if __name__ == "__main__":
    given = sys.argv[1:]
    sys.exit(asyncio.run(main(int(given[0]) if given else 20, float(given[1]) if len(given) > 1 else 15.0)))
