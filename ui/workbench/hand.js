
// By hand: the living sheet on the page. Of the server nothing is asked until limits are taken; until then those that
// were moved stay in this tab of the browser, each with the target that the brief had for it.
const stored = name => {
    try {
        return JSON.parse(sessionStorage.getItem(name)) ?? {}
    } catch {
        return {}
    }
}
const store = (name, moved) => {
    try {
        sessionStorage.setItem(name, JSON.stringify(moved))
    } catch {} // a browser without storage: they last until the page is left
}

export default ({ parentElement, data, setTriggerValue }) => {
    const box = parentElement.querySelector(".living")
    box.tell = setTriggerValue
    if (box.drawn === data.id) return
    box.drawn = data.id
    box.innerHTML = data.body // words of the brief are escaped in it
    const numbers = JSON.parse(data.numbers), name = `optiform by hand ${data.title}`
    const names = numbers.sliders.map((_, k) => box.querySelector(`#slider-${k}`).getAttribute("aria-label"))
    const take = document.createElement("button")
    take.type = "button"
    take.className = "take"
    box.querySelector(".buttons").append(take)
    const held = stored(name)
    let now = []
    const drawn = (answer, moved) => {
        now = moved
        take.textContent = data.take[answer.status]
        take.disabled = !moved.length || answer.status === "none"
        store(name, Object.fromEntries(moved.map(([k, target]) => [names[k], [numbers.sliders[k].target, target]])))
    }
    const sheet = living(box, { ...numbers, words: { ...numbers.words, ...data.words } }, drawn)
    names.forEach((each, k) => {
        const [from, target] = held[each] ?? []
        if (from === numbers.sliders[k].target) sheet.move(k, target)
    })
    take.addEventListener("click", () => {
        take.disabled = true // for as long as a second click of the same hand takes
        setTimeout(() => (take.disabled = false), 2000)
        store(name, {})
        box.scrollIntoView() // the sheet goes, and what stood below it would come up
        box.tell("taken", { id: data.id, ends: now })
    })
}
