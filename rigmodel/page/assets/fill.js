// Text made on the server, in which everything of the user's is escaped already, put into the page
// by changing only what differs from what was put there before. What somebody has opened or taken
// hold of in the rest stays, and browsers need not lay it out and read its fields anew.

const written = new Map(); // what the server wrote last, by the element it went into

function fill(id, html) {
  const box = byId(id);
  const before = written.get(box);
  if (before && before.html === html) return;
  const made = document.createElement("template");
  made.innerHTML = html;
  written.set(box, { html, nodes: made.content });
  const focused = document.activeElement && box.contains(document.activeElement) ? document.activeElement : null;
  const place = focused && focused.id;
  const folds = new Set([...box.querySelectorAll("details[open]")].map((d) => d.id));
  const values = new Map([...box.querySelectorAll("[data-motion], [data-one], #add-use, #add-at")].map((e) => [e.id, e.value]));
  const boxes = new Map([...box.querySelectorAll("[data-group], [data-ghosts]")].map((e) => [e.id, e.checked]));
  const half = focused && focused.matches("input[data-path]") && focused.value !== focused.defaultValue
    && focused.value !== focused.dataset.sent ? [focused.value, focused.selectionStart, focused.selectionEnd] : null;
  if (half) focused.dataset.sent = focused.value; // not sent by its being taken out of the page
  const top = box.scrollTop;
  if (before) amendChildren(box, before.nodes, made.content);
  else box.replaceChildren(made.content.cloneNode(true));
  for (const field of box.querySelectorAll("[data-path]")) if (!half || field !== focused) asWritten(field);
  for (const fold of box.querySelectorAll("details")) if (fold.id && folds.has(fold.id)) fold.open = true;
  for (const [id, value] of values) if (byId(id)) byId(id).value = value;
  for (const [id, checked] of boxes) if (byId(id)) byId(id).checked = checked;
  box.scrollTop = top;
  const now = place ? byId(place) : null;
  if (half && now === focused) delete now.dataset.sent;
  if (!now || now === document.activeElement) return;
  now.focus({ preventScroll: true });
  if (half) carryOn(now, ...half);
}

// `live` is made to differ from `before` no longer where `after` does.
function amend(live, before, after) {
  if (before.isEqualNode(after)) return;
  if (after.nodeType !== Node.ELEMENT_NODE) return void (live.data = after.data);
  for (const { name, value } of after.attributes) if (before.getAttribute(name) !== value) live.setAttribute(name, value);
  for (const { name } of before.attributes) if (!after.hasAttribute(name)) live.removeAttribute(name);
  amendChildren(live, before, after);
}

function amendChildren(live, before, after) {
  const [now, old, fresh] = [live, before, after].map((node) => [...node.childNodes]);
  const alike = (a, b) => a.nodeName === b.nodeName && a.id === b.id;
  const same = now.length === fresh.length && old.length === fresh.length
    && fresh.every((node, i) => alike(node, now[i]) && alike(node, old[i]));
  if (same) for (const [i, node] of fresh.entries()) amend(now[i], old[i], node);
  else live.replaceChildren(...fresh.map((node) => node.cloneNode(true)));
}

// A field as the server wrote it: what was typed and refused before is gone, and so is the refusal.
function asWritten(field) {
  if ("defaultValue" in field && field.value !== field.defaultValue) field.value = field.defaultValue;
  const options = [...(field.options || [])];
  const told = options.find((option) => option.defaultSelected) || options[0];
  if (told && !told.selected) told.selected = true;
  delete field.dataset.sent;
  field.removeAttribute("aria-invalid");
  const fault = byId(`${field.id}-fault`);
  if (fault) fault.textContent = "";
}

// What was half typed when its field was put anew stays, and is sent on leaving the field as if
// no news had come.
function carryOn(field, value, start, end) {
  field.value = value;
  field.setSelectionRange(start, end);
  field.addEventListener("focusout", () => field.dispatchEvent(new Event("change", { bubbles: true })), { once: true });
}
