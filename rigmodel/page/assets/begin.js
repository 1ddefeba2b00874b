// The first page: begin a scene, or go on with one.

async function open(asked) {
  const wrong = byId("wrong");
  wrong.textContent = "";
  for (const old of document.querySelectorAll(".field .wrong")) old.textContent = "";
  for (const old of document.querySelectorAll("[aria-invalid]")) old.removeAttribute("aria-invalid");
  let answer;
  try {
    answer = await fetch("/open", { method: "POST", headers: HEADERS, body: JSON.stringify(asked) });
  } catch {
    wrong.textContent = "The server does not answer.";
    return;
  }
  const told = await answer.json();
  if (answer.ok) {
    location.assign(`/s/${told.id}`);
    return;
  }
  const rest = told.message ? [told.message] : [];
  let first = null;
  for (const { name, message } of told.faults || []) {
    const field = document.querySelector(`[data-name="${CSS.escape(name)}"]`);
    if (!field) {
      rest.push(name ? `${name}: ${message}` : message);
      continue;
    }
    const fold = field.closest("details");
    if (fold) fold.open = true;
    byId(`${field.id}-fault`).textContent = message;
    field.setAttribute("aria-invalid", "true");
    first = first || field;
  }
  wrong.textContent = rest.join(". ");
  if (first) first.focus();
  else wrong.scrollIntoView({ block: "nearest" });
}

async function sent(file) {
  const address = await new Promise((done, failed) => {
    const reader = new FileReader();
    reader.onload = () => done(reader.result);
    reader.onerror = () => failed(reader.error);
    reader.readAsDataURL(file);
  });
  return { name: file.name, base64: address.slice(address.indexOf(",") + 1) };
}

function beginPage() {
  const list = byId("recent-list");
  for (const { id, title } of recent()) {
    const link = document.createElement("a");
    link.href = `/s/${id}`;
    link.textContent = title;
    const item = document.createElement("li");
    item.append(link);
    list.append(item);
  }
  byId("begin-recent").hidden = list.children.length === 0;
  byId("open-demo").addEventListener("click", () => open({ kind: "demo", name: byId("demo").value }));
  byId("open-file").addEventListener("click", async () => {
    const files = [...byId("file").files];
    const size = files.reduce((sum, file) => sum + file.size, 0);
    if (!files.length) byId("wrong").textContent = "Choose a file first.";
    else if (size > 32 * 1024 * 1024) byId("wrong").textContent = "This is too big; the limit is 32 MiB.";
    else open({ kind: "files", files: await Promise.all(files.map(sent)) });
  });
  byId("open-form").addEventListener("click", () => {
    const values = {};
    for (const field of document.querySelectorAll("[data-name]")) {
      if (field.value.trim()) values[field.dataset.name] = field.value;
    }
    open({ kind: "form", values });
  });
}

if (byId("bench")) {
  new Taking(byId("downloads"));
  new Bench(byId("bench").dataset.session).begin().catch((error) => {
    byId("wrong").textContent = `This scene cannot be opened: ${error.message}`;
  });
} else beginPage();
