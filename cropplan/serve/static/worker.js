// Keeps the last pages for when the signal drops, and forgets them when the key is taken back.
"use strict";

const PATIENCE = 4000;
const root = new URL("./", location).pathname;
const STORE = `pages:${root}`;
const PAGES = ["", "week", "plants", "season", "season.svg", "sheet"];

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const store = await caches.open(STORE);
    await Promise.all(PAGES.map((page) => renew(store, root + page).catch(() => {})));
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

const plain = (path) => new URL(path, location).origin + new URL(path, location).pathname;

async function renew(store, path) {
  const reply = await fetch(path, { cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
  if (reply.ok) {
    await store.put(plain(path), reply.clone());
    if ((reply.headers.get("content-type") ?? "").startsWith("text/html")) await keepParts(store, reply.clone());
  }
  if (reply.status === 404 && new URL(path, location).pathname === root) await caches.delete(STORE);
  return reply;
}

// The look and the script that a page names, by their version.
async function keepParts(store, reply) {
  const html = await reply.text();
  const named = new Set(html.match(new RegExp(`${root}s/[a-z0-9.-]+(\\?[0-9a-f]+)?`, "g")) ?? []);
  for (const path of named) {
    const whole = new URL(path, location).href;
    if (await store.match(whole)) continue;
    const part = await fetch(whole);
    if (part.ok) await store.put(whole, part);
  }
}

async function shown(request) {
  const store = await caches.open(STORE);
  try {
    return await renew(store, request.url);
  } catch {
    return (await store.match(plain(request.url))) ?? new Response(
      "No signal, and this page was not kept. Go back.",
      { status: 503, headers: { "Content-Type": "text/plain; charset=utf-8" } },
    );
  }
}

async function part(request) {
  const store = await caches.open(STORE);
  return (await store.match(request.url)) ?? fetch(request);
}

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || !address.pathname.startsWith(root)) return;
  if (address.pathname.startsWith(`${root}s/`)) event.respondWith(part(event.request));
  else if (event.request.mode === "navigate" || address.pathname === `${root}season.svg`) event.respondWith(shown(event.request));
});
