// The only module that asks the server: a token on every request, and news over one socket.
const token = location.hash.slice(1);

async function sent(path, body, headers = {}) {
  const told = await fetch(path, {
    method: body === undefined ? "GET" : "POST",
    headers: { "x-siteplan-token": token, ...headers },
    body,
  });
  return told;
}

async function read(told) {
  const type = told.headers.get("content-type") || "";
  const value = type.includes("json") ? await told.json() : { faults: [await told.text()] };
  if (!told.ok) throw Object.assign(new Error((value.faults || [value.fault || "It failed."]).join("\n")), value);
  return value;
}

export const load = async () => read(await sent("/lot"));
export const act = async (what, values = {}) => read(await sent(`/do/${what}`, JSON.stringify(values)));

export async function sendFile(file, asked) {
  const told = new URLSearchParams({ ...asked, name: file.name });
  return read(await sent(`/parcel-file?${told}`, file));
}

export async function download(what) {
  const told = what === "site" ? await sent("/file") : await sent(`/get/${what}`, "{}");
  if (!told.ok) return read(told);
  const name = told.headers.get("x-file-name") || "site.toml";
  const url = URL.createObjectURL(await told.blob());
  const link = document.createElement("a");
  link.href = url;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 10000);
  return null;
}

export function listen(hear, lost) {
  const socket = new WebSocket(`ws://${location.host}/live?token=${token}`);
  socket.addEventListener("message", (event) => hear(JSON.parse(event.data)));
  socket.addEventListener("close", lost);
}
