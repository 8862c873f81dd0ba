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
    const here = stored(name)
    const state = here && here.rev >= data.held.rev ? here : structuredClone(data.held)
    const send = () => {
        if (state.rev > data.held.rev) setStateValue("weighed", structuredClone(state))
    }
    const change = (edit, focus = true) => {
        edit(state)
        state.rev += 1
        try {
            localStorage.setItem(name, JSON.stringify(state))
        } catch {} // a browser without storage: the server has it
        draw(focus)
        send()
    }
    const count = () => data.screens.filter((screen, number) => screen.name && state.done[number]?.when).length
    const all = data.screens.filter(screen => screen.name).length

    const field = (label, number, key, mode, hint) => {
        const row = part("label", label)
        const input = part("input")
        input.inputMode = mode
        input.value = state.typed[number]?.[key] ?? ""
        input.placeholder = hint
        input.addEventListener("change", () => change(now => ((now.typed[number] ??= {})[key] = input.value), false))
        row.append(input)
        return row
    }
    const line = (screen, number) => {
        const grams = part("p", `${screen.grams} g`, "grams")
        const rows = [part("p", screen.place, "quiet"), part("h2", screen.name), grams]
        if (screen.words) rows.push(part("p", screen.words))
        rows.push(field("Lot", number, "lot", "text", screen.lot), field("The scale shows, g", number, "grams", "decimal", screen.grams))
        return rows
    }
    const timer = (screen, number) => {
        const row = part("div", "", "timer")
        const left = part("span", "", "left")
        const start = part("button", state.ends[number] ? "Start again" : `Start ${screen.minutes} min`, "plain")
        start.addEventListener("click", () => change(now => (now.ends[number] = Date.now() + screen.minutes * 60000), false))
        row.append(left, start)
        const tick = () => {
            const end = state.ends[number]
            left.textContent = end ? (end > Date.now() ? clock(end - Date.now()) : "Time is up") : ""
        }
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
    const draw = focus => {
        clearInterval(box.ticking)
        const number = Math.min(state.at, data.screens.length - 1)
        const screen = data.screens[number]
        const last = number === data.screens.length - 1
        const next = part("button", screen.name ? "Weighed" : "Done", "next")
        if (state.done[number]?.when && last) next.textContent = "All done"
        next.addEventListener("click", () => change(now => {
            const typed = now.typed[number] ?? {}
            now.done[number] = { ...typed, lot: typed.lot || screen.lot, when: new Date().toTimeString().slice(0, 5) }
            now.at = Math.min(number + 1, data.screens.length - 1)
        }))
        const back = part("button", "Back", "plain")
        back.disabled = number === 0
        back.addEventListener("click", () => change(now => (now.at = number - 1)))
        const where = part("p", `${number + 1} of ${data.screens.length}; ${count()} of ${all} weighed`, "quiet")
        const away = part("p", state.rev > data.held.rev ? "Kept in this browser; not on the server yet." : "", "quiet away")
        where.setAttribute("role", "status")
        const row = part("div", "", "row")
        row.append(back, next)
        box.replaceChildren(where, ...(screen.name ? line(screen, number) : step(screen, number)), row, away)
        if (focus) next.focus({ preventScroll: true })
    }
    if (!box.drawn && matchMedia("(max-width: 640px)").matches) box.scrollIntoView()
    box.drawn = true
    clearInterval(box.sending)
    box.sending = setInterval(send, AGAIN)
    draw(box.contains((parentElement.getRootNode()).activeElement))
    send()
    return () => {
        clearInterval(box.sending)
        clearInterval(box.ticking)
    }
}
