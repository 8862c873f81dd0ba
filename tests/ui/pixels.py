"""How far words stand out from their ground, measured on the pixels of a page as the browser draws it."""

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

if TYPE_CHECKING:
    from playwright.sync_api import Page

Picture = NDArray[np.uint8]

TEXT, ICON = 4.5, 3.0  # WCAG 2.1, success criteria 1.4.3 and 1.4.11, level AA
SHARP = 2  # pixels of a picture to one of the page: the core of a stroke then has the colour of the word

#: Remembers where words are drawn on a canvas (tables and charts), in pixels of the canvas.
WATCH = """(() => {
    const draw = CanvasRenderingContext2D.prototype.fillText;
    CanvasRenderingContext2D.prototype.fillText = function (text, x, y, ...rest) {
        if (String(text).trim()) {
            const m = this.measureText(text), t = this.getTransform(), words = this.canvas.words ??= new Map();
            const [a, b] = [new DOMPoint(x - m.actualBoundingBoxLeft, y - m.actualBoundingBoxAscent),
                            new DOMPoint(x + m.actualBoundingBoxRight, y + m.actualBoundingBoxDescent)]
                .map(corner => corner.matrixTransform(t));
            words.set(`${Math.round(a.x)} ${Math.round(a.y)}`, [String(text), a.x, a.y, b.x, b.y]);
        }
        return draw.call(this, text, x, y, ...rest);
    };
    const wipe = CanvasRenderingContext2D.prototype.clearRect;
    CanvasRenderingContext2D.prototype.clearRect = function (x, y, width, height) {
        const t = this.getTransform(), words = this.canvas.words;
        const [a, b] = [new DOMPoint(x, y), new DOMPoint(x + width, y + height)].map(at => at.matrixTransform(t));
        for (const [place, [, left, top, right, bottom]] of words ?? [])
            if (left >= a.x - 1 && right <= b.x + 1 && top >= a.y - 1 && bottom <= b.y + 1) words.delete(place);
        return wipe.call(this, x, y, width, height);
    };
    for (const side of ['width', 'height']) {  // setting either wipes the canvas
        const plain = Object.getOwnPropertyDescriptor(HTMLCanvasElement.prototype, side);
        Object.defineProperty(HTMLCanvasElement.prototype, side, {
            ...plain, set(length) { this.words?.clear(); plain.set.call(this, length); },
        });
    }
})()"""

#: Every word in sight: its text, the boxes of its lines on the page, what it stands in, whether it is an icon.
WORDS = """() => {
    const out = [];
    const part = e => e.closest('[data-testid]')?.dataset.testid ?? e.tagName;
    const idle = e => !!e.closest('[disabled], [aria-disabled=true], [data-disabled=true]');
    const seen = (e, box) => {
        const top = document.elementFromPoint((box.left + box.right) / 2, (box.top + box.bottom) / 2);
        if (box.width < 2 || box.height < 4 || !top) return false;
        return e.tagName === 'CANVAS' ? part(top) === part(e) : e.contains(top) || top.contains(e);
    };
    const add = (e, text, boxes) => {
        const shown = boxes.filter(box => seen(e, box)).map(box => [box.left, box.top, box.right, box.bottom]);
        if (shown.length) out.push({text, part: part(e), icon: part(e) === 'stIconMaterial', boxes: shown});
    };
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node; (node = walker.nextNode());) {
        const e = node.parentElement;
        if (!node.data.trim() || !e.checkVisibility({opacityProperty: true, visibilityProperty: true}) || idle(e)
            || e.closest('canvas, script, style, noscript')) continue;
        const range = document.createRange();
        range.selectNodeContents(node);
        add(e, node.data.trim(), [...range.getClientRects()]);
    }
    for (const e of document.querySelectorAll('input, textarea'))
        if (!['file', 'range', 'checkbox', 'radio'].includes(e.type) && (e.value || e.placeholder)
            && e.checkVisibility() && !idle(e)) add(e, e.value || e.placeholder, [e.getBoundingClientRect()]);
    for (const canvas of document.querySelectorAll('canvas')) {
        const at = canvas.getBoundingClientRect(), scale = at.width / canvas.width;
        for (const [text, left, top, right, bottom] of canvas.words?.values() ?? []) {
            const [x, y, width, height] = [left, top, right - left, bottom - top].map(length => length * scale);
            const box = new DOMRect(at.left + x, at.top + y, width, height);
            if (box.left >= at.left && box.right <= at.right && box.top >= at.top && box.bottom <= at.bottom)
                add(canvas, text, [box]);
        }
    }
    return out;
}"""


@dataclass(frozen=True)
class Word:
    """A word on the page and the greatest contrast of a pixel of it with its ground."""

    text: str
    part: str
    ratio: float
    least: float

    def __str__(self) -> str:
        return f"{self.ratio:.2f} < {self.least:g}: {self.text[:50]!r} in {self.part}"


def luminance(colours: NDArray[Any]) -> NDArray[np.float64]:
    """Relative luminance as WCAG 2.1 defines it, of colours of 0 to 255 in the last axis."""
    parts = np.asarray(colours, dtype=np.float64) / 255
    linear = np.where(parts <= 0.03928, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return np.asarray(linear @ np.array([0.2126, 0.7152, 0.0722]))


def contrast(crop: Picture) -> float:
    """Of a picture of words: the commonest colour is the ground, what differs most from it is the word."""
    packed = crop.reshape(-1, 3).astype(np.uint32) @ np.array([1 << 16, 1 << 8, 1], dtype=np.uint32)
    colours, counts = np.unique(packed, return_counts=True)
    light = luminance(np.stack([colours >> 16, colours >> 8 & 255, colours & 255], axis=1))
    ground = light[counts.argmax()]
    ratios = (np.maximum(light, ground) + 0.05) / (np.minimum(light, ground) + 0.05)
    return float(ratios.max())


def words(page: "Page") -> Iterator[Word]:
    """Every word in the window with its contrast. The page's context draws `SHARP` pixels to one."""
    listed = page.evaluate(WORDS)
    picture = np.asarray(Image.open(BytesIO(page.screenshot())).convert("RGB"))
    for one in listed:
        ratios = []
        for box in one["boxes"]:
            left, top, right, bottom = (max(0, round(SHARP * at)) for at in box)
            if (crop := picture[top:bottom, left:right]).size:
                ratios.append(contrast(crop))
        drawn = [ratio for ratio in ratios if ratio > 1] or ratios  # a line that holds the blank at its end is bare
        if drawn:
            yield Word(one["text"], one["part"], min(drawn), ICON if one["icon"] else TEXT)


def at_rest(page: "Page", looks: int = 4) -> list[Word]:
    """The words of a page that has come to rest: charts are drawn a little later, and what is stale fades.

    A page is looked at again while any word is faint; what is faint at every look is faint.
    """
    for _ in range(looks):
        page.wait_for_timeout(500)
        seen = list(words(page))
        if all(word.ratio >= word.least for word in seen):
            break
    return seen
