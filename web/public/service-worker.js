/**
 * Keeps the phone's pages for when there is no network. It asks the network first, always: what it keeps is only ever
 * shown when nothing else comes, so an old one can't hold back a new version. The API is none of its business.
 */
const keptName = "coatclock-pages";
const indexKey = "/";
/** A link can be dead without saying so. */
const patienceMs = 4_000;

self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim().then(() => keepNewest())));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return;
  // Named by its content: what is kept under a name is that, for good.
  if (pathname.startsWith("/assets/")) event.respondWith(keptOrFetched(request));
  else if (request.mode === "navigate" && !/^\/(wall|api|log|sheets|predictions|sensors)(\/|$)/.test(pathname))
    event.respondWith(pageOf(event));
});

async function keptOrFetched(request) {
  const kept = await (await caches.open(keptName)).match(request.url);
  return kept ?? fetch(request);
}

async function pageOf(event) {
  try {
    const response = await fetch(event.request, { signal: AbortSignal.timeout(patienceMs) });
    if (response.status < 500) {
      if (response.ok) event.waitUntil(keepNewest());
      return response;
    }
    return (await keptIndex()) ?? response;
  } catch (error) {
    const kept = await keptIndex();
    if (kept === undefined) throw error;
    return kept;
  }
}

const keptIndex = async () => (await caches.open(keptName)).match(indexKey);

/** Keeps the index and all it names, or, when one of them does not come, what was kept before. */
async function keepNewest() {
  try {
    const response = await fetch(indexKey, { cache: "no-cache" });
    if (!response.ok) return;
    const named = [...(await response.clone().text()).matchAll(/["'](?:\.?\/)?(assets\/[^"']+)["']/g)];
    const assets = named.map(([, path]) => new URL(path, `${self.location.origin}/`).href);
    const cache = await caches.open(keptName);
    for (const asset of assets) if ((await cache.match(asset)) === undefined) await cache.add(asset);
    await cache.put(indexKey, response);
    const index = new URL(indexKey, self.location.origin).href;
    for (const { url } of await cache.keys()) if (url !== index && !assets.includes(url)) await cache.delete(url);
  } catch {
    // The next page that opens tries again.
  }
}
