// Weigh mode: one line or step a screen. What is ticked stays in this browser's storage and is sent to the server,
// again and again until the records have it: so the work goes on while the server is away.
const AGAIN = 3000 // milliseconds

const part = (tag, words, type) => {
    const made = document.createElement(tag)
    if (words) made.textContent = words
    if (type) made.className = type
    return made
}

const clock = milliseconds => {
    const seconds = Math.max(0, Math.ceil(milliseconds / 1000))
    return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`
}

const wait = minutes => (minutes >= 120 && minutes % 60 === 0 ? `${minutes / 60} h` : `${minutes} min`)

const stored = name => {
    try {
        return JSON.parse(localStorage.getItem(name))
    } catch {
        return null
    }
}

const NOW = () => new Date(Date.now() - new Date().getTimezoneOffset() * 60000).toISOString().slice(0, 19)
const NUMBER = /^\d+([.,]\d+)?$/

export default ({ parentElement, data, setStateValue }) => {
    const box = parentElement.querySelector(".weighing")
    const name = `optiform weighing ${data.id}`
    const held = data.held
    if (box.batch !== data.id) {
        const begun = { run: 0, at: null, typed: {}, ends: {}, waiting: [] }
        Object.assign(box, { batch: data.id, state: stored(name) ?? begun, drawn: null })
    }
    const state = box.state
    Object.assign(box, { data, tell: setStateValue })
    if (held.run > state.run) Object.assign(state, { run: held.run, at: null, typed: {}, ends: {} }) // another batch
    state.waiting = state.waiting.filter(tick => !held.known.includes(tick.word))
    const last = data.screens.length - 1
    const mine = k => state.waiting.findLast(tick => tick.screen === k && tick.run === state.run)
    const done = k => Boolean(mine(k) || box.data.held.ticks[k])
    if (state.at === null) {
        const first = data.screens.findIndex((_, k) => !done(k))
        state.at = first < 0 ? last : first
    }
    const send = () => {
        if (state.waiting.length) box.tell("weighed", structuredClone(state.waiting))
    }
    const store = () => {
        const known = tick => box.data.held.known.includes(tick.word) || state.waiting.some(w => w.word === tick.word)
        const others = (stored(name)?.waiting ?? []).filter(tick => !known(tick)) // of another tab
        try {
            localStorage.setItem(name, JSON.stringify({ ...state, waiting: [...state.waiting, ...others] }))
        } catch {} // a browser without storage: the records have it
    }
    const keep = edit => {
        edit(state)
        store()
        away()
        send()
    }
    const change = edit => {
        keep(edit)
        draw()
    }
    const away = () => {
        const words = box.querySelector(".away")
        if (words) words.textContent = state.waiting.length ? "Kept in this browser; not on the server yet." : ""
    }
    // what was said of the screen, here or on another device, and how far the whole is: nothing is drawn anew for it
    const told = () => {
        const lines = box.data.screens.flatMap((each, k) => (each.name ? [k] : []))
        const weighed = lines.filter(done).length
        const over = box.data.screens.every((_, k) => done(k)) ? " All of it is done." : ""
        const where = box.querySelector(".where"), words = box.querySelector(".said")
        where.textContent = `${state.at + 1} of ${last + 1}; ${weighed} of ${lines.length} weighed.${over}`
        const tick = mine(state.at), there = box.data.held.ticks[state.at]
        words.textContent = tick ? `Ticked here at ${tick.when.slice(11, 16)}.` : there ? `${there.words}.` : ""
        if (!tick && there?.clash) words.textContent = "Two devices say different things of it: choose below which counts."
    }

    const field = (label, number, key, mode, hint) => {
        const row = part("label", label)
        const input = part("input")
        input.inputMode = mode
        input.value = state.typed[number]?.[key] ?? ""
        input.placeholder = hint
        // not drawn anew: the field is left by pressing the button, which has to be there still
        input.addEventListener("change", () => keep(now => ((now.typed[number] ??= {})[key] = input.value)))
        row.append(input)
        return row
    }
    const line = (screen, number) => {
        const rows = [part("p", screen.place, "quiet"), part("h2", screen.name), part("p", `${screen.grams} g`, "grams")]
        if (screen.words) rows.push(part("p", screen.words))
        const shows = field("The scale shows, g", number, "grams", "decimal", screen.grams)
        return [...rows, field("Lot", number, "lot", "text", screen.lot), shows]
    }
    const timer = (screen, number) => {
        const row = part("div", "", "timer")
        const left = part("span", "", "left")
        const start = part("button", `Start ${wait(screen.minutes)}`, "plain")
        start.addEventListener("click", () => {
            keep(now => (now.ends[number] = Date.now() + screen.minutes * 60000))
            tick()
        })
        const tick = () => {
            const end = state.ends[number]
            left.textContent = end ? (end > Date.now() ? clock(end - Date.now()) : "Time is up") : ""
        }
        row.append(left, start)
        tick()
        box.ticking = setInterval(tick, 500)
        return row
    }
    const step = (screen, number) => {
        const rows = [part("p", screen.place || "Step", "quiet")]
        if (screen.temperature) rows.push(part("p", screen.temperature, "grams"))
        rows.push(part("p", screen.words, "what"))
        if (screen.minutes) rows.push(timer(screen, number))
        return rows
    }
    const tick = (screen, number) => {
        const typed = state.typed[number] ?? {}
        const grams = (typed.grams ?? "").trim()
        if (screen.name && grams && !NUMBER.test(grams)) {
            box.querySelector(".wrong").textContent = `“${grams}”: a number of grams, such as ${screen.grams}`
            return
        }
        change(now => {
            now.waiting.push({
                word: crypto.getRandomValues(new Uint32Array(3)).join("-"),
                run: now.run,
                screen: number,
                over: box.data.held.ticks[number]?.number ?? 0,
                grams: grams ? Number(grams.replace(",", ".")) : null,
                lot: screen.name ? (typed.lot ?? "").trim() || screen.lot : "",
                when: NOW(),
            })
            now.at = number === last ? number : number + 1
        })
    }
    const buttons = (screen, number) => {
        const next = part("button", screen.name ? "Weighed" : "Done", "next")
        next.addEventListener("click", () => tick(screen, number))
        const move = (words, to) => {
            const button = part("button", words, "plain")
            button.disabled = to < 0 || to > last || (to > number && !done(number))
            button.addEventListener("click", () => change(now => (now.at = to)))
            return button
        }
        const row = part("div", "", "row")
        row.append(move("Back", number - 1), next, ...(done(number) && number < last ? [move("Next", number + 1)] : []))
        return row
    }
    const draw = () => {
        clearInterval(box.ticking)
        const number = (state.at = Math.min(state.at, last))
        const screen = box.data.screens[number]
        const where = part("p", "", "quiet where")
        where.setAttribute("role", "status")
        const wrong = part("p", "", "wrong")
        wrong.setAttribute("role", "alert")
        const inside = box.contains(box.getRootNode().activeElement) // whoever works by keyboard keeps the place
        const shown = screen.name ? line(screen, number) : step(screen, number)
        const rest = [part("p", "", "said"), wrong, buttons(screen, number), part("p", "", "quiet away")]
        box.replaceChildren(where, ...shown, ...rest)
        told()
        away()
        if (inside) box.querySelector(".next").focus({ preventScroll: true })
    }
    store()
    // drawn anew only where there is something else to show: a button that is being pressed has to stay
    const first = box.drawn === null
    if (box.drawn !== `${data.id} ${state.run}`) draw()
    else told()
    if (first && matchMedia("(max-width: 640px)").matches) box.scrollIntoView()
    box.drawn = `${data.id} ${state.run}`
    away()
    clearInterval(box.sending)
    box.sending = setInterval(send, AGAIN)
    send()
    return () => {
        clearInterval(box.sending)
        clearInterval(box.ticking)
    }
}
