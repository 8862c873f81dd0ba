"""From a slider step to the new table on screen: the workbench against a bare Streamlit page, in one browser run.

Run from the top of the project: python -m tests.benchmarks.bench_app
The bare page has as many controls of each kind, a metric, a table with as many rows and a chart, and computes next to
nothing. Steps alternate between both; no step repeats one before, so no cache helps. The table is on screen in the
frame in which its canvas is given a text it never had before; the page is at rest when the script has ended, the metric
shows another number, and the browser has drawn a frame after that. Exit code 1 if the target for the table is missed;
the page at rest has no target and is told.
"""

import statistics
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.ui.browser import free_port, keyed_from, launch, opened, served, workbench

STEPS = 20
WARM = 2
TARGET = 1.5

BARE = """
import altair as alt
import datetime
import pandas as pd
import streamlit as st

st.set_page_config(layout="wide")
st.title("Bare")
left, right = st.columns([5, 8], gap="large")
with left:
    tabs = st.tabs(["Limits", "Lines", "Product", "Files"])
    with tabs[0]:
        st.toggle("exact")
        values = [st.slider(f"limit {n}", 0.0, 20.0, (7.0, 20.0), step=0.2, key=f"limit {n} 0") for n in range(13)]
        with st.popover("Add"):
            st.selectbox("property", [str(n) for n in range(30)])
            st.number_input("at least", value=None)
            st.number_input("at most", value=None)
            st.button("Add one")
    with tabs[1]:
        names = [f"ingredient {n}" for n in range(30)]
        lines = {"ingredient": names, "pin": 1.0, "low": 0.0, "high": 2.0, "out": False}
        st.data_editor(pd.DataFrame(lines), hide_index=True, key="lines")
    with tabs[2]:
        for n in range(3):
            st.selectbox(f"choice {n}", ["a", "b", "c"])
        st.multiselect("several", ["a", "b", "c"], ["a"])
        st.date_input("date", datetime.date(2026, 1, 1))
        st.number_input("number", 0.0, value=4.0)
    with tabs[3]:
        st.file_uploader("files", accept_multiple_files=True)
        for n in range(2):
            st.download_button(f"download {n}", lambda: "text", f"{n}.txt")
        st.button("Start")
with right:
    total = sum(low for low, _ in values)
    st.metric("total", f"{total:.3f}")
    st.bottom.markdown(f"{total:.3f}")
    numbers = [total + n for n in range(17)]
    texts = {"ingredient": names[:17], "phase": "water phase"}
    st.dataframe(pd.DataFrame(texts | {k: numbers for k in ("%", "g", "change", "today %")}), hide_index=True)
    bars = pd.DataFrame({"limit": [f"limit {n}" for n in range(13)], "at": [low for low, _ in values]})
    st.altair_chart(alt.Chart(bars).mark_bar().encode(x="at:Q", y="limit:N"), key="bars")
    with st.popover("Keep"):
        st.text_input("Name", "name")
        st.text_input("Why", "why")
        st.button("Keep it")
"""

#: Notes every text that is drawn on a canvas outside the charts, and when one is drawn for the first time.
WATCH = """() => {
    const drawn = new Set(), draw = CanvasRenderingContext2D.prototype.fillText;
    CanvasRenderingContext2D.prototype.fillText = function (text, ...rest) {
        if (!this.canvas.closest('[data-testid=stVegaLiteChart]') && !drawn.has(text)) {
            drawn.add(text);
            window.newText?.();
        }
        return draw.call(this, text, ...rest);
    };
}"""

#: Makes `window.stepped`: a promise of the milliseconds from the key to the frame that shows the new table, and to the
#: one that shows the page at rest.
STEP = """() => {
    const shown = () => document.querySelector('[data-testid=stMetricValue]')?.innerText;
    const idle = () => document.querySelector('[data-testid=stApp]').dataset.testScriptState === 'notRunning';
    const before = shown();
    let start = null;
    addEventListener('keydown', () => { start = performance.now(); }, { capture: true, once: true });
    let table = null;
    window.newText = () => {
        if (start === null || table !== null) return;
        table = 0;
        requestAnimationFrame(() => { table = performance.now() - start; });
    };
    window.stepped = new Promise((measured, late) => {
        const watcher = new MutationObserver(() => {
            if (start === null || !table || !idle() || !shown() || shown() === before) return;
            watcher.disconnect();
            requestAnimationFrame(() => requestAnimationFrame(() => measured([table, performance.now() - start])));
        });
        watcher.observe(document.body, { subtree: true, childList: true, characterData: true, attributes: true });
        setTimeout(() => { watcher.disconnect(); late(new Error('no other number within 20 s')); }, 20000);
    });
    window.stepped.catch(() => {});
}"""


def step(page: Page, key: str) -> tuple[float, float]:
    """Milliseconds from one step of the slider's lower end to the new table, and to the page at rest."""
    page.bring_to_front()
    keyed_from(page, key).get_by_role("slider").first.focus()
    page.evaluate(STEP)
    page.keyboard.press("ArrowRight")
    table, rest = page.evaluate("() => window.stepped")
    page.wait_for_timeout(300)  # a pause, so that nothing of this step runs into the next
    return float(table), float(rest)


def measured(ours: Page, bare: Page) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Pairs of both, one after the other, without the first ones."""
    for page in (ours, bare):
        page.evaluate(WATCH)
    pairs = [(step(ours, "limit-share-of-butter"), step(bare, "limit-0")) for _ in range(WARM + STEPS)]
    return pairs[WARM:]


def main() -> int:
    """Print both medians and their ratio; 1 if the target is missed."""
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        Path(folder, "bare.py").write_text(BARE, encoding="utf-8")
        port = free_port()
        command = ["-m", "streamlit", "run", "bare.py", "--server.address=127.0.0.1", f"--server.port={port}",
                   "--server.headless=true", "--browser.gatherUsageStats=false"]  # fmt: skip
        with workbench() as url, served(command, port, Path(folder)) as other:
            browser = launch(playwright)
            ours, bare = (opened(browser.new_context().new_page(), each) for each in (url, other))
            pairs = measured(ours, bare)
            browser.close()
    print(f"{len(pairs)} steps each, medians; the ratio is that of pairs")
    table = told("new table on screen", [(mine[0], theirs[0]) for mine, theirs in pairs])
    told("page at rest", [(mine[1], theirs[1]) for mine, theirs in pairs])
    print(f"target for the table {TARGET:g}{'' if table <= TARGET else ', missed'}")
    return int(table > TARGET)


def told(words: str, pairs: list[tuple[float, float]]) -> float:
    """The median ratio of the pairs, printed with both medians."""
    mine, theirs = (statistics.median(side) for side in zip(*pairs, strict=True))
    ratio = statistics.median(a / b for a, b in pairs)
    print(f"{words}: workbench {mine:.0f} ms, bare page {theirs:.0f} ms, ratio {ratio:.2f}")
    return ratio


if __name__ == "__main__":
    sys.exit(main())
