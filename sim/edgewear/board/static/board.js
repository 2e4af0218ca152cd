"use strict";
// The board's page: what is dragged, nudged or typed goes to the board on this machine; what it
// says comes back as a stream. Nothing is decided or computed here.
(() => {
  const $ = (id) => document.getElementById(`board-${id}`);
  const STEP_M = 0.05, FAR_M = 0.5, FINE_M = 0.01;
  const NUDGE_MS = 160; // so long after the last key a nudge is sent
  let state = null, shown = "", held = null, nudge = null, asks = 0;
  let pending = 0, looking = false, again = null, sending = Promise.resolve();
  document.documentElement.classList.add("live");

  const make = (tag, attributes = {}, ...inner) => {
    const one = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) {
      if (value === true) one.setAttribute(name, "");
      else if (value !== false && value !== null) one.setAttribute(name, value);
    }
    one.append(...inner);
    return one;
  };
  const tell = (text) => { $("told").textContent = text; };
  const narrow = () => matchMedia("(max-width: 46rem)").matches;

  async function post(path, body) {
    try {
      const answer = await fetch(path, {
        method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body),
      });
      return { code: answer.status, body: await answer.json() };
    } catch {
      return { code: 0, body: { told: "The board does not answer. What was typed stays here.", problems: [] } };
    }
  }

  // While something is under way, the drawing may show where things were.
  const busy = () => $("pictures").setAttribute("aria-busy", looking || pending > 0);

  // One change after the other, each made on the text that is shown when it is sent.
  function change(changes) {
    pending += 1;
    busy();
    sending = sending.then(async () => {
      const made = await post("change", { revision: state.revision, changes });
      pending -= 1;
      if (made.code === 200) take(made.body.state, false);
      else tell(made.body.told);
      await look([], true);
      return made;
    });
    return sending;
  }
  function step(path) {
    sending = sending.then(async () => {
      const made = await post(path, { revision: state.revision });
      if (made.code === 200) take(made.body.state, false);
      else { tell(made.body.told); problems(made.body.problems); }
      await look([], false);
    });
    return sending;
  }

  // Looks are answered one at a time; of those that wait only the last is asked.
  async function look(changes, hold) {
    if (!state || !state.options.length) return;
    if (looking) { again = [changes, hold]; return; }
    looking = true;
    busy();
    const made = await post(`look?narrow=${narrow() ? 1 : 0}`, { changes, option: shown, hold, ask: ++asks });
    looking = false;
    if (made.code === 200 && made.body.problems.length) problems(made.body.problems);
    else if (made.code === 200) draw(made.body);
    else if (held) place(`${held.one.name}: ${made.body.told}`);
    if (again) { const next = again; again = null; await look(...next); }
    busy();
  }

  // Drawing and handles -------------------------------------------------------------------------
  function draw(found) {
    if (found.option) $("drawn").textContent = found.option;
    if (pending) return; // what was asked before a change shows where things were
    const box = $("pictures");
    for (const picture of found.pictures) {
      let one = box.querySelector(`[data-kind="${picture.kind}"]`);
      if (!one) {
        one = make("div", { class: "picture", "data-kind": picture.kind });
        box.append(one);
      }
      let lines = one.querySelector(".lines");
      if (!lines) {
        one.replaceChildren();
        lines = make("div", { class: "lines" });
        one.append(lines, make("div", { class: "handles", role: "group", "aria-label": `Handles ${picture.kind === "side" ? "from the side" : "from above"}` }));
        one.addEventListener("pointerdown", grab);
      }
      lines.innerHTML = picture.svg;
      handles(one, picture);
    }
    for (const one of [...box.children]) {
      if (!found.pictures.some((picture) => picture.kind === one.dataset.kind)) one.remove();
    }
    loads(found);
  }

  function handles(one, picture) {
    const box = one.querySelector(".handles"), frame = one.querySelector("svg").viewBox.baseVal;
    const known = new Map([...box.children].map((button) => [button.dataset.name + button.dataset.section, button]));
    for (const handle of picture.handles) {
      const key = handle.name + handle.section;
      let button = known.get(key);
      known.delete(key);
      if (!button) {
        button = make("button", { type: "button", class: "handle", "data-name": handle.name, "data-section": handle.section, "aria-describedby": "board-keys" });
        button.addEventListener("keydown", key_on);
        button.addEventListener("focus", () => { place(words(button.handle)); open_group(button.handle); far(button); });
        box.append(button);
      }
      button.handle = handle;
      button.picture = picture;
      button.frame = frame;
      button.setAttribute("aria-label", words(handle));
      if (!(held && held.button === button)) put(button, handle.x, handle.y);
    }
    for (const gone of known.values()) gone.remove();
    reaches(one, picture);
    marks(one);
  }

  // How far a thing may be moved before the option misses the target: asked for, then drawn.
  // Values are marked as they come: a full mark meets the target, an open one does not.
  let reach = null, asked = null;
  const same = (a, b) => ["option", "section", "name", "axis"].every((key) => a[key] === b[key]);
  function tried(found) {
    if (!asked || !same(asked, found)) return;
    asked.tried.push(found);
    const met = asked.tried.filter((one) => one.meets).length;
    place(`${found.name}: ${asked.tried.length} values tried, ${met} of them meet the target; the last was ${found.axis} ${metres(found.value)}.`);
    for (const one of $("pictures").children) marks(one);
  }
  function marks(one) {
    one.querySelectorAll(".tried").forEach((mark) => mark.remove());
    if (!asked || asked.option !== shown) return;
    const button = [...one.querySelectorAll(".handle")].find((found) => found.dataset.name === asked.name && found.dataset.section === asked.section);
    if (!button || !along(asked.axis, one.dataset.kind)) return;
    for (const value of asked.tried) {
      const [x, y] = at(button.handle, button.picture, asked.axis, value.value);
      const mark = document.createElementNS("http://www.w3.org/2000/svg", "circle");
      for (const [name, text] of [["cx", x], ["cy", y], ["r", 4], ["class", value.meets ? "tried meets" : "tried"]]) mark.setAttribute(name, text);
      one.querySelector("svg").append(mark);
    }
  }
  const along = (axis, kind) => axis === "out" || (axis === "up") === (kind === "side");
  const at = (handle, picture, axis, value) => {
    const step = (value - handle[axis]) * picture.units_per_m;
    return axis === "out" ? [handle.x + step, handle.y] : [handle.x, handle.y - step];
  };
  function far(button) {
    const one = button.handle;
    $("far").replaceChildren(...one.far.map((axis) => {
      const ask = make("button", { type: "button" }, `How far ${axis} may ${one.name} go?`);
      ask.onclick = async () => {
        const question = { option: shown, section: one.section, name: one.name, axis };
        asked = { ...question, tried: [] };
        reach = null;
        place(`${one.name}: values are tried, and marked as they come.`);
        const made = await post("how-far", question);
        if (asked && same(asked, question)) asked = null;
        place(made.body.told);
        if (made.code !== 200) return;
        reach = made.body;
        look([], true);
      };
      return ask;
    }));
  }
  function reaches(one, picture) {
    if (!reach || reach.option !== shown || !state || reach.revision !== state.revision) return;
    const handle = picture.handles.find((found) => found.section === reach.section && found.name === reach.name);
    const upright = reach.axis !== "out";
    if (!handle || !along(reach.axis, picture.kind)) return;
    const here = (value) => at(handle, picture, reach.axis, value);
    const line = (from, to, kind) => {
      const found = document.createElementNS("http://www.w3.org/2000/svg", "line");
      for (const [name, value] of [["x1", from[0]], ["y1", from[1]], ["x2", to[0]], ["y2", to[1]], ["class", kind]]) found.setAttribute(name, value);
      one.querySelector("svg").append(found);
    };
    for (const [least, most, no_least, no_most] of reach.stretches) {
      line(here(least), here(most), "reach");
      for (const [value, open] of [[least, no_least], [most, no_most]]) {
        const [x, y] = here(value);
        if (!open) line(upright ? [x - 9, y] : [x, y - 9], upright ? [x + 9, y] : [x, y + 9], "reach-end");
      }
    }
  }
  const put = (button, x, y) => {
    button.style.left = `${(100 * x) / button.frame.width}%`;
    button.style.top = `${(100 * y) / button.frame.height}%`;
  };
  const KINDS = { anchors: "anchor", edges: "edge", people: "person" };
  const words = (one) => `${KINDS[one.section]} ${one.name}: ${one.said}`;
  const place = (text) => { $("place").textContent = text; };

  // The change that takes a handle from where it is by so many metres.
  function moved(one, right_m, up_m, kind) {
    if (one.section === "people") return { do: "deepen", name: one.name, by: round(-up_m) };
    const second = kind === "side" ? "up" : "along";
    if (one.by) {
      const made = { do: "shift", section: one.section, name: one.name };
      if (right_m && one.axes.includes("out")) made.out = round(right_m);
      if (up_m && one.axes.includes(second)) made[second] = round(up_m);
      return made;
    }
    const made = { do: "move", section: one.section, name: one.name };
    if (right_m) made.out = round(one.out + right_m);
    if (up_m && one.axes.includes(second)) made[second] = round(one[second] + up_m);
    return made;
  }
  const round = (value) => Math.round(value * 1000) / 1000;
  const whole = (made) => made.do === "deepen" ? Boolean(made.by) : ["out", "up", "along"].some((axis) => axis in made);
  function says(one, made) {
    if (made.do === "deepen") return `${one.name}: lowest place ${metres(one.up - made.by)} up`;
    const parts = ["out", "along", "up"].filter((axis) => axis in made).map((axis) => `${axis} ${metres(reached(one, made, axis))}`);
    return `${one.name}: ${parts.join(", ")}`;
  }
  const reached = (one, made, axis) => made.do === "shift" ? one[axis] + made[axis] : made[axis];
  const metres = (value) => `${value.toFixed(2).replace("-", "\u2212")} m`;

  function grab(event) {
    const near = [...event.currentTarget.querySelectorAll(".handle")].map((button) => {
      const box = button.getBoundingClientRect();
      return [Math.hypot(event.clientX - box.x - box.width / 2, event.clientY - box.y - box.height / 2), button];
    }).sort((a, b) => a[0] - b[0])[0];
    if (!near || near[0] > 26 || event.button > 0) return;
    event.preventDefault();
    flush();
    const button = near[1], box = event.currentTarget.querySelector("svg").getBoundingClientRect();
    button.focus({ preventScroll: true });
    held = { button, one: { ...button.handle }, kind: button.picture.kind, x: event.clientX, y: event.clientY,
      metre: (button.picture.units_per_m * box.width) / button.frame.width, change: null };
    button.classList.add("held");
    button.setPointerCapture(event.pointerId);
    button.onpointermove = drag;
    button.onpointerup = drop;
    button.onpointercancel = () => let_go(false);
    button.onlostpointercapture = () => let_go(false);
  }
  function drag(event) {
    if (!held) return;
    const { one, button, metre } = held, fine = event.altKey ? FINE_M : STEP_M;
    const snapped = (pixels) => Math.round(pixels / metre / fine) * fine;
    const right = one.axes.includes("out") ? snapped(event.clientX - held.x) : 0;
    const up = one.axes.length > 1 || one.section === "people" ? snapped(held.y - event.clientY) : 0;
    const units = button.picture.units_per_m;
    put(button, one.x + right * units, one.y - up * units);
    held.change = moved(one, right, up, held.kind);
    place(says(one, held.change));
    if (whole(held.change)) look([held.change], true);
  }
  function drop() { let_go(true); }
  function let_go(kept) {
    if (!held) return;
    const { button, change: made } = held;
    held = null;
    button.classList.remove("held");
    button.onpointermove = button.onpointerup = button.onpointercancel = button.onlostpointercapture = null;
    if (kept && made && whole(made)) { stays(button, made); change([made]); }
    else look([], true);
  }

  function key_on(event) {
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (event.key === "Escape" && held) { let_go(false); return; }
    const way = ways[event.key];
    if (!way || event.ctrlKey || event.metaKey) return;
    event.preventDefault();
    const button = event.currentTarget, size = event.shiftKey ? FAR_M : event.altKey ? FINE_M : STEP_M;
    if (!nudge || nudge.button !== button) {
      flush();
      nudge = { button, one: { ...button.handle }, kind: button.picture.kind, right: 0, up: 0 };
    }
    const one = nudge.one;
    if (one.axes.includes("out")) nudge.right += way[0] * size;
    if (one.axes.length > 1 || one.section === "people") nudge.up += way[1] * size;
    const units = button.picture.units_per_m;
    put(button, one.x + nudge.right * units, one.y - nudge.up * units);
    place(says(one, moved(one, round(nudge.right), round(nudge.up), nudge.kind)));
    clearTimeout(nudge.timer);
    nudge.timer = setTimeout(flush, NUDGE_MS);
  }
  function flush() {
    if (!nudge) return;
    const made = moved(nudge.one, round(nudge.right), round(nudge.up), nudge.kind);
    clearTimeout(nudge.timer);
    const button = nudge.button;
    nudge = null;
    if (whole(made)) { stays(button, made); change([made]); }
  }
  // Until the board has drawn it anew, a handle is where it was put.
  function stays(button, made) {
    const one = button.handle, units = button.picture.units_per_m, kind = button.picture.kind;
    const now = { ...one, ...Object.fromEntries(["out", "along", "up"].filter((axis) => axis in made).map((axis) => [axis, reached(one, made, axis)])) };
    if (made.do === "deepen") now.up = one.up - made.by;
    const second = kind === "side" ? "up" : "along";
    now.x = one.x + (now.out - one.out) * units;
    now.y = one.y - (now[second] - one[second]) * units;
    button.handle = now;
    put(button, now.x, now.y);
  }

  function loads(found) {
    const box = $("loads");
    if (!found.loads) { box.replaceChildren(); return; }
    const table = (caption, heads, rows) => make("table", { role: "table" }, make("caption", {}, caption),
      make("thead", { role: "rowgroup" }, make("tr", { role: "row" }, ...heads.map((text) => make("th", { scope: "col", role: "columnheader" }, text)))),
      make("tbody", { role: "rowgroup" }, ...rows.map((row) => make("tr", { role: "row" }, ...row.map((text, at) => at
        ? make("td", { role: "cell", "data-label": heads[at] }, text) : make("th", { scope: "row", role: "rowheader", "data-label": heads[0] }, text))))));
    const status = found.status.length ? `; ${found.status.join("; ")}` : "";
    box.replaceChildren(
      make("p", {}, `Level of control: ${found.control}${status}.`),
      ...found.mind.map((text) => make("p", {}, `Mind: ${text}`)),
      table("Loads by statics, friction left out", ["point", "use", "case", "load", "rated"], found.loads),
      table("Rope", ["line", "rope", "left over"], found.ropes));
  }

  // State and fields ----------------------------------------------------------------------------
  function take(found, drawn = true) {
    const before = state && state.revision;
    if (state && found.revision < state.revision) return;
    state = found;
    document.title = found.title;
    $("title").textContent = found.title;
    $("file").textContent = `${found.file}${found.dirty ? ", not saved" : ", saved"}`;
    $("undo").disabled = !found.undo;
    $("redo").disabled = !found.redo;
    $("save").disabled = !found.dirty || found.beside;
    if (found.told && before !== found.revision) tell(found.told);
    options(found.options);
    beside(found.beside);
    problems(found.problems);
    groups(found.groups);
    if (drawn && before !== found.revision && !held && !nudge) look([], false);
  }
  function options(names) {
    const select = $("option");
    if (!names.includes(shown)) shown = names[0] || "";
    select.replaceChildren(...names.map((name) => make("option", { selected: name === shown }, name)));
    select.value = shown;
    $("remove").disabled = names.length < 2;
  }
  function beside(is_there) {
    const box = $("beside");
    if (box.hidden === !is_there) return;
    box.hidden = !is_there;
    if (!is_there) { box.replaceChildren(); return; }
    const theirs = make("button", { type: "button" }, "Go on with the file's text");
    const mine = make("button", { type: "button" }, "Make my changes on it again");
    theirs.onclick = () => step("take-file");
    mine.onclick = () => step("put-on-top");
    box.replaceChildren(make("p", {}, "The file was changed by something else. Nothing is written over until you choose."), theirs, mine);
  }
  function problems(found) {
    $("problems").replaceChildren(...found.map((one) => make("p", {},
      `${one.line ? `line ${one.line}, column ${one.column}: ` : ""}${one.address}: ${one.message}`)));
  }

  let shape = "";
  const inputs = new Map();
  const choice = (field) => field.words.length > 0 && (field.value === "" || field.words.includes(field.value));
  function groups(found) {
    const now = JSON.stringify(found.map((group) => [group.section, group.name, group.fields.map((f) => [f.address, choice(f), f.words])]));
    if (now !== shape) { shape = now; build(found); }
    for (const group of found) for (const field of group.fields) fill(field);
  }
  function fill(field) {
    const input = inputs.get(field.address);
    if (!input || input.dataset.unsent || document.activeElement === input && input.value !== input.dataset.was) return;
    input.dataset.was = field.value;
    input.value = field.value;
    if (input.tagName === "INPUT") input.placeholder = field.instead;
    wrong(input, "");
  }
  function build(found) {
    const opened = new Set([...$("groups").querySelectorAll("details[open]")].map((one) => one.dataset.key));
    const focused = document.activeElement && document.activeElement.dataset.address;
    inputs.clear();
    $("groups").replaceChildren(...found.map((group) => {
      const key = `${group.section}/${group.name}`;
      const open = opened.has(key) || (!opened.size && key === `options/${shown}`);
      const first = group.fields.filter((field) => !field.more), more = group.fields.filter((field) => field.more);
      const parts = [make("div", { class: "group-fields" }, ...first.map(field_of))];
      if (more.length) parts.push(make("details", { "data-key": `${key}/more` }, make("summary", {}, "More that may be said"),
        make("div", { class: "group-fields" }, ...more.map(field_of))));
      if (group.section === "job") parts.push(new_step(group));
      if (group.name && group.section !== "job") parts.push(name_row(group, found));
      return make("details", { "data-key": key, open }, make("summary", {}, group.name ? `${group.section}: ${group.name}` : group.section), ...parts);
    }));
    for (const key of opened) {
      const one = [...$("groups").querySelectorAll("details")].find((details) => details.dataset.key === key);
      if (one) one.open = true;
    }
    if (focused && inputs.has(focused)) inputs.get(focused).focus();
  }
  let fields = 0;
  function field_of(field) {
    const id = `field-${fields++}`;
    const input = choice(field)
      ? make("select", { id }, make("option", { value: "" }, field.instead ? `${field.instead} (for all)` : "not said"),
        ...field.words.map((word) => make("option", { value: word }, word)))
      : make("input", { id, type: "text", autocomplete: "off", spellcheck: "false", maxlength: "4000" });
    input.dataset.address = field.address;
    input.dataset.was = field.value;
    input.setAttribute("aria-describedby", `${id}-help ${id}-wrong`);
    input.addEventListener("change", () => typed(input));
    input.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && input.tagName === "INPUT") { input.value = input.dataset.was; wrong(input, ""); }
    });
    inputs.set(field.address, input);
    return make("div", { class: "field" }, make("label", { for: id }, field.label), input,
      make("small", { id: `${id}-help` }, field.help), make("small", { id: `${id}-wrong`, class: "none" }, ""));
  }
  function wrong(input, text) {
    const told = document.getElementById(`${input.id}-wrong`);
    told.textContent = text;
    told.className = text ? "wrong" : "none";
    if (text) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }
  async function typed(input) {
    if (input.value === input.dataset.was) { wrong(input, ""); return; }
    input.dataset.unsent = "1";
    const sent = input.value;
    const made = await change([{ do: "set", address: input.dataset.address, value: sent }]);
    if (made.code === 0) { wrong(input, made.body.told); return; }
    if (made.code === 200) {
      delete input.dataset.unsent;
      wrong(input, "");
      const now = inputs.get(input.dataset.address);
      const field = state.groups.flatMap((group) => group.fields).find((one) => one.address === input.dataset.address);
      if (now && field && input.value === sent) { now.dataset.was = field.value; now.value = field.value; }
      tell(`${input.dataset.address}: ${sent || "taken away"}.`);
    } else {
      if (made.code !== 409) delete input.dataset.unsent;
      wrong(input, made.body.told);
    }
  }
  function resend() {
    for (const input of inputs.values()) if (input.dataset.unsent) typed(input);
  }
  const free = (name, names) => {
    let found = `${name}, copy`;
    for (let at = 2; names.includes(found); at += 1) found = `${name}, copy ${at}`;
    return found;
  };
  function name_row(group, found) {
    const names = found.filter((one) => one.section === group.section).map((one) => one.name);
    const id = `field-${fields++}`;
    const name = make("input", { id, type: "text", value: group.name, maxlength: "120", autocomplete: "off" });
    const add = make("button", { type: "button" }, "Add one like this");
    const gone = make("button", { type: "button", disabled: names.length < 2 }, "Remove");
    name.addEventListener("change", () => {
      const to = name.value.trim();
      if (group.section === "options" && shown === group.name) shown = to;
      change([{ do: "rename", section: group.section, name: group.name, to }]).then((made) => { if (made.code !== 200) name.value = group.name; });
    });
    add.onclick = () => change([{ do: "copy", section: group.section, name: group.name, to: free(group.name, names) }]);
    gone.onclick = () => change([{ do: "remove", section: group.section, name: group.name }]);
    return make("div", { class: "row" }, make("label", { for: id }, "Name"), name, add, gone);
  }
  function new_step(group) {
    const id = `field-${fields++}`;
    const input = make("input", { id, type: "text", placeholder: "descend: 5 m", autocomplete: "off" });
    const add = make("button", { type: "button" }, "Add this step");
    add.onclick = () => {
      const text = input.value.trim();
      const value = text.includes(":") && !text.startsWith("{") ? `{${text}}` : text;
      const steps = new Set(group.fields.map((field) => field.address.split("/")[group.name ? 2 : 1])).size;
      change([{ do: "insert", address: group.name ? `job/${group.name}` : "job", at: steps + 1, value }]);
    };
    return make("div", { class: "row" }, make("label", { for: id }, "Another step"), input, add);
  }
  function open_group(one) {
    const found = [...$("groups").children].find((group) => group.dataset.key === `${one.section}/${one.name}`);
    if (found) found.open = true;
  }

  // Answers -------------------------------------------------------------------------------------
  function answer(found) {
    $("stage").textContent = found.told;
    $("results").innerHTML = found.html;
    $("results").dataset.trials = found.trials;
    $("results").dataset.settled = found.settled;
    const link = (href, text, more = {}) => make("a", { href, ...more }, text);
    const cards = (found.cards || []).map((card) => link(`cards/${card.place}`, `Card: ${card.name}`, { target: "_blank" }));
    $("files").replaceChildren(...(found.settled
      ? [link("report.html", "Report", { target: "_blank" }), ...cards, link("dataset.zip", "Dataset", { download: true })] : []));
    if (!held && !nudge) look([], true);
  }

  $("option").addEventListener("change", () => { shown = $("option").value; look([], false); open_group({ section: "options", name: shown }); });
  $("copy").onclick = () => {
    const to = free(shown, state.options), name = shown;
    shown = to;
    change([{ do: "copy", section: "options", name, to }]);
  };
  $("remove").onclick = () => change([{ do: "remove", section: "options", name: shown }]);
  for (const name of ["undo", "redo", "save"]) $(name).onclick = () => { flush(); step(name); };
  document.addEventListener("keydown", (event) => {
    const key = event.key.toLowerCase(), typing = event.target.matches("input");
    if (key === "escape" && held) { let_go(false); return; }
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    const path = key === "s" ? "save" : typing ? null : key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : null;
    if (!path) return;
    event.preventDefault();
    if (typing) typed(event.target);
    flush();
    step(path);
  });

  const stream = new EventSource("events");
  stream.onmessage = (event) => {
    const found = JSON.parse(event.data);
    if (found.kind === "tried") tried(found);
    else if (found.kind === "state") take(found);
    else answer(found);
  };
  let lost = false;
  stream.onerror = () => { lost = true; tell("The board does not answer. What is typed stays here until it does."); };
  stream.onopen = () => { if (lost) { lost = false; state = null; tell("The board answers again."); setTimeout(resend, 300); } };
})();
