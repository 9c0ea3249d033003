// Keeps one job's page Wires on the device, so that the cut list can be opened without a link.
//
// The network always goes first: what is kept is only shown where the page cannot be had. Each
// version of the files has a worker of its own, which drops what the ones before it kept.

const FILES = /^\/static\/v-[0-9a-f]{12}\//; // addresses that name their contents
const HAS_LIST = 'id="cut-form"'; // a page that says that wires are being laid is not kept
const VERSION = self.location.search.slice(1);
const PAGE = new URL(self.registration.scope).pathname;
const BOARDS = `${PAGE}/boards`; // brought in when one looks at them, then kept as well
const CACHES = `platewright ${PAGE} `;
const OWN = CACHES + VERSION;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(taken()));
self.addEventListener("message", (event) => event.waitUntil(asked(event)));
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin) return;
  if (url.pathname === PAGE) event.respondWith(page(event));
  else if (url.pathname === BOARDS) event.respondWith(boards(event));
  else if (FILES.test(url.pathname)) event.respondWith(file(event.request));
});

/** The page is sent for while this worker is still being started. */
async function taken() {
  await self.registration.navigationPreload?.enable();
  await self.clients.claim();
}

async function page(event) {
  const isOpened = event.request.mode === "navigate";
  try {
    const answer = (isOpened && (await event.preloadResponse)) || (await fetch(event.request));
    if (answer.ok) event.waitUntil(keep(answer.clone()));
    if (answer.status === 404) event.waitUntil(forget());
    return answer;
  } catch (error) {
    const kept = isOpened ? await known() : undefined;
    if (!kept) throw error;
    return kept;
  }
}

async function boards(event) {
  try {
    const answer = await fetch(event.request);
    if (answer.ok) event.waitUntil(put(BOARDS, answer.clone()));
    return answer;
  } catch (error) {
    const kept = await (await caches.open(OWN)).match(BOARDS);
    if (!kept) throw error;
    return kept;
  }
}

async function file(request) {
  return (await caches.match(request, { ignoreVary: true })) ?? fetch(request);
}

/** Keep the page in place of the one before, where it has the list. */
async function keep(answer) {
  if ((await answer.clone().text()).includes(HAS_LIST)) await put(PAGE, answer);
}

/** Keep an answer as it reads, with when it came. @param {string} address @param {Response} answer */
async function put(address, answer) {
  const headers = new Headers(answer.headers);
  for (const name of ["content-encoding", "content-length", "vary"]) headers.delete(name);
  headers.set("x-kept", new Date().toISOString());
  await (await caches.open(OWN)).put(address, new Response(await answer.text(), { headers }));
}

/** What was kept last, which says itself when that was. */
async function known() {
  for (const name of [OWN, ...(await mine())]) {
    const kept = await (await caches.open(name)).match(PAGE);
    if (!kept) continue;
    const text = (await kept.text()).replace("<body>", `<body data-kept="${kept.headers.get("x-kept")}">`);
    return new Response(text, { headers: kept.headers });
  }
  return undefined;
}

/** The page is open and tells which files it is made of. */
async function asked({ data, ports: [port] }) {
  try {
    const cache = await caches.open(OWN);
    for (const address of data.files) {
      if (!(await cache.match(address, { ignoreVary: true }))) await cache.add(address);
    }
    if (!(await cache.match(PAGE))) await keep(await fetch(data.page));
    await forget(OWN);
    port.postMessage(Boolean(await cache.match(PAGE)));
  } catch {
    port.postMessage(false); // no link, or no room
  }
}

/** Names of all that was kept of this page. */
async function mine() {
  return (await caches.keys()).filter((name) => name.startsWith(CACHES));
}

/** @param {string} [but] which stays; without it the job is gone, and so is this worker */
async function forget(but = "") {
  for (const name of await mine()) if (name !== but) await caches.delete(name);
  if (!but) await self.registration.unregister();
}
