// The owner's walk on a poor network: what is typed is kept on the phone until the workshop has it,
// and sent when the network is back. Without this script every answer is sent by its button.

const waitingKey = "paneloft-waiting";
const read = () => JSON.parse(localStorage.getItem(waitingKey) ?? "[]");
const keep = (list) => localStorage.setItem(waitingKey, JSON.stringify(list));

async function post(address, body) {
  return fetch(address, { method: "POST", body: new URLSearchParams(body), redirect: "follow" });
}

// Sends what was kept, in order; stops where the network fails.
async function sendKept() {
  for (let list = read(); list.length > 0; list = read()) {
    try {
      await post(list[0].address, list[0].body);
    } catch {
      return;
    }
    keep(list.slice(1));
  }
}

// Makes the page's form safe on a poor network.
function begin() {
  const form = document.querySelector("form[data-walk]");
  if (!form) return;
  const input = form.elements.namedItem("words");
  const draft = `paneloft-draft ${location.pathname}`;
  if (!input.value) input.value = localStorage.getItem(draft) ?? "";
  const note = () => localStorage.setItem(draft, input.value);
  input.addEventListener("input", note);

  const keys = form.querySelector(".keys");
  keys.hidden = false;
  keys.addEventListener("click", (event) => {
    const key = event.target.closest("button");
    if (!key) return;
    if (key.dataset.key) input.value += key.dataset.key;
    if (key.dataset.fraction) {
      const whole = input.value.replace(/ ?\d+\/\d+$/, "").trim();
      input.value = `${whole} ${key.dataset.fraction}`.trim();
    }
    if ("rub" in key.dataset) input.value = input.value.replace(/( ?\d+\/\d+|.)$/, "");
    note();
  });

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const body = { words: input.value };
    if (event.submitter?.name) body[event.submitter.name] = event.submitter.value;
    try {
      await sendKept();
      const answer = await post(form.action, body);
      localStorage.removeItem(draft);
      if (answer.redirected) {
        location.assign(answer.url);
        return;
      }
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      document.getElementById("main").replaceWith(page.getElementById("main"));
      begin();
      scrollTo(0, 0);
    } catch {
      keep([...read(), { address: form.action, body }]);
      form.querySelector(".kept").hidden = false;
    }
  });
}

begin();
addEventListener("online", sendKept);
sendKept();
