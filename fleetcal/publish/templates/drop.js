/** Takes files and folders that are dropped anywhere on the page, and sends them as the form would. */
const form = document.getElementById("drop");
const status = document.getElementById("drop-status");

function read(reader) {
  return new Promise((resolve, reject) => reader.readEntries(resolve, reject));
}

/** Return the files of an entry, of a folder all that are in it. */
async function filesOf(entry) {
  if (entry.isFile) {
    return [await new Promise((resolve, reject) => entry.file(resolve, reject))];
  }
  const reader = entry.createReader(), files = [];
  for (let part = await read(reader); part.length; part = await read(reader)) {
    for (const inner of part) { files.push(...await filesOf(inner)); }
  }
  return files;
}

async function dropped(event) {
  event.preventDefault();
  form.classList.remove("over");
  const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry()).filter(Boolean);
  const files = entries.length
    ? (await Promise.all(entries.map(filesOf))).flat() : [...event.dataTransfer.files];
  if (!files.length) { return; }
  const all = new DataTransfer();
  files.forEach((file) => all.items.add(file));
  form.elements.folder.value = "";
  form.elements.logs.files = all.files;
  form.requestSubmit();
}

document.addEventListener("dragover", (event) => { event.preventDefault(); form.classList.add("over"); });
document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) { form.classList.remove("over"); } });
document.addEventListener("drop", dropped);
["logs", "folder"].forEach((name) => form.elements[name].addEventListener("change", (event) => {
  if (event.target.files.length) { form.requestSubmit(); }
}));
form.addEventListener("submit", () => {
  const count = form.elements.logs.files.length + form.elements.folder.files.length;
  status.textContent = count ? `Reading ${count === 1 ? "the log" : `${count} logs`}\u2026` : "";
});
