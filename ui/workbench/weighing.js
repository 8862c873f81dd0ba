// Weigh mode: one line or step a screen. What is ticked stays in this browser's storage and is sent to the server,
// again and again until the server says that it has it: so the work goes on while the server is away.
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

const stored = name => {
    try {
        return JSON.parse(localStorage.getItem(name))
    } catch {
        return null
    }
}

export default ({ parentElement, data, setStateValue }) => {
    const box = parentElement.querySelector(".weighing")
    const name = `optiform weighing ${data.id}`
    const here = box.batch === data.id ? box.state : stored(name)
    const newer = !here || here.rev < data.held.rev
    Object.assign(box, { data, batch: data.id, tell: setStateValue, state: newer ? structuredClone(data.held) : here })
    const waits = () => box.state.rev > box.data.held.rev
    const send = () => {
        if (waits()) box.tell("weighed", structuredClone(box.state))
    }
    const keep = edit => {
        edit(box.state)
        box.state.rev += 1
        try {
            localStorage.setItem(name, JSON.stringify(box.state))
        } catch {} // a browser without storage: the server has it
        away()
        send()
    }
    const change = edit => {
        keep(edit)
        draw()
    }
    const away = () => {
        const words = box.querySelector(".away")
        if (words) words.textContent = waits() ? "Kept in this browser; not on the server yet." : ""
    }

    const field = (label, number, key, mode, hint) => {
        const row = part("label", label)
        const input = part("input")
        input.inputMode = mode
        input.value = box.state.typed[number]?.[key] ?? ""
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
        const start = part("button", `Start ${screen.minutes} min`, "plain")
        start.addEventListener("click", () => {
            keep(now => (now.ends[number] = Date.now() + screen.minutes * 60000))
            tick()
        })
        const tick = () => {
            const end = box.state.ends[number]
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
    const buttons = (screen, number) => {
        const last = number === data.screens.length - 1
        const next = part("button", screen.name ? "Weighed" : "Done", "next")
        next.addEventListener("click", () => change(now => {
            const typed = now.typed[number] ?? {}
            now.done[number] = { ...typed, lot: typed.lot || screen.lot, when: new Date().toTimeString().slice(0, 5) }
            now.at = last ? number : number + 1
        }))
        const back = part("button", "Back", "plain")
        back.disabled = number === 0
        back.addEventListener("click", () => change(now => (now.at = number - 1)))
        const row = part("div", "", "row")
        row.append(back, next)
        return row
    }
    const draw = () => {
        clearInterval(box.ticking)
        const number = Math.min(box.state.at, data.screens.length - 1)
        const screen = data.screens[number]
        const lines = data.screens.flatMap((each, k) => (each.name ? [k] : []))
        const weighed = lines.filter(k => box.state.done[k]?.when).length
        const over = box.state.done[number]?.when && number === data.screens.length - 1 ? " All of it is done." : ""
        const where = part("p", `${number + 1} of ${data.screens.length}; ${weighed} of ${lines.length} weighed.${over}`, "quiet")
        where.setAttribute("role", "status")
        const held = box.contains(box.getRootNode().activeElement) // whoever works by keyboard keeps the place
        const shown = screen.name ? line(screen, number) : step(screen, number)
        box.replaceChildren(where, ...shown, buttons(screen, number), part("p", "", "quiet away"))
        away()
        if (held) box.querySelector(".next").focus({ preventScroll: true })
    }
    // drawn anew only where there is something else to show: a button that is being pressed has to stay
    if (newer || box.drawn !== data.id) draw()
    if (!box.drawn && matchMedia("(max-width: 640px)").matches) box.scrollIntoView()
    box.drawn = data.id
    away()
    clearInterval(box.sending)
    box.sending = setInterval(send, AGAIN)
    send()
    return () => {
        clearInterval(box.sending)
        clearInterval(box.ticking)
    }
}
