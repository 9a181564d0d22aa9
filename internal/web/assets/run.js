// Planning as it goes: says what is being done, and shows the page anew when it has ended.
const box = document.querySelector("[data-run]");
if (box) {
  const doing = box.querySelector("[data-doing]");
  const events = new EventSource(box.dataset.run);
  events.onmessage = (e) => {
    const now = JSON.parse(e.data);
    doing.textContent = now.doing;
    if (["done", "failed", "stopped"].includes(now.state)) {
      events.close();
      location.reload();
    }
  };
}
