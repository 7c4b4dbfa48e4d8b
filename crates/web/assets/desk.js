// The readings desk answers while somebody types: the drawing, the doubts and the bars follow what
// stands in the table, and a reading is saved when its field is left. Without this script the table
// is saved by its button.

const desk = document.querySelector("[data-desk]");
const address = desk.dataset.desk;
let latest = 0;

const form = () => document.getElementById("readings");

// Takes over what the server worked out; the fields themselves stay as they are typed.
function takeOver(html) {
  const fresh = new DOMParser().parseFromString(html, "text/html");
  for (const id of ["board", "doubts"]) {
    const part = fresh.getElementById(id);
    if (part) document.getElementById(id).replaceChildren(...part.childNodes);
  }
  for (const row of fresh.querySelectorAll("tr[id]")) {
    const old = document.getElementById(row.id);
    if (!old) continue;
    old.className = row.className;
    old.querySelector(".off").replaceWith(row.querySelector(".off"));
  }
}

async function send(path, headers = {}) {
  const turn = ++latest;
  desk.ariaBusy = "true";
  const body = new URLSearchParams(new FormData(form()));
  try {
    const answer = await fetch(path, { method: "POST", body, headers });
    const html = await answer.text();
    if (turn !== latest) return;
    if (answer.ok) takeOver(html);
    form().classList.toggle("unread", !answer.ok);
  } catch {
    form().classList.add("unread");
  } finally {
    if (turn === latest) desk.ariaBusy = "false";
  }
}

let waiting;
document.addEventListener("input", (event) => {
  if (!event.target.closest("#readings") || event.target.id === "more") return;
  clearTimeout(waiting);
  waiting = setTimeout(() => send(`${address}/try`), 40);
});

document.addEventListener("change", (event) => {
  if (event.target.id === "more") return add(event.target);
  if (!event.target.closest("#readings")) return;
  clearTimeout(waiting);
  send(address, { "X-Desk": "1" });
});

// Another reading gets a line of its own at the table's end.
function add(select) {
  const option = select.selectedOptions[0];
  if (!option.value) return;
  const body = form().querySelector("tbody");
  const row = document.createElement("tr");
  row.id = `row-${option.value}`;
  row.dataset.name = option.textContent;
  const head = document.createElement("th");
  head.scope = "row";
  const label = document.createElement("label");
  label.htmlFor = `in-${option.value}`;
  label.textContent = option.textContent;
  head.append(label);
  const cell = document.createElement("td");
  const input = document.createElement("input");
  Object.assign(input, { id: `in-${option.value}`, name: option.value, maxLength: 60 });
  cell.append(input);
  const off = document.createElement("td");
  off.className = "off";
  row.append(head, cell, off);
  body.append(row);
  option.remove();
  select.value = "";
  input.focus();
}

// The span of the reading under the pointer or the cursor thickens.
function show(event) {
  const row = event.target.closest("tr[data-name]");
  const name = row ? row.dataset.name.toLowerCase() : null;
  for (const group of document.querySelectorAll("#board g[data-name]")) {
    group.classList.toggle("pointed", group.dataset.name.toLowerCase() === name);
  }
}
document.addEventListener("pointerover", show);
document.addEventListener("focusin", show);
