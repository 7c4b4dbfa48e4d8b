// Shows how far the making of files is, as the server tells it. Without this script the page is looked
// at again.

for (const work of document.querySelectorAll("[data-work]")) {
  const told = new EventSource(`${work.dataset.work}/events`);
  told.addEventListener("message", (event) => {
    const { state, part_done, words } = JSON.parse(event.data);
    work.querySelector("progress").value = Math.round(part_done * 100);
    work.querySelector(".words").textContent = state === "waiting" ? "waiting for its turn" : words;
    if (["done", "failed", "cancelled"].includes(state)) {
      told.close();
      location.reload();
    }
  });
}
