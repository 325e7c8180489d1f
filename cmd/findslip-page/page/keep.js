// Keeps the page for when there is no network. Only the page itself is kept, never what is opened in it.
const name = "findslip-{{version}}";
const own = ["./", "manifest.webmanifest", "icon.svg"];
addEventListener("install", (event) => event.waitUntil(caches.open(name).then((kept) => kept.addAll(own)).then(() => skipWaiting())));
addEventListener("activate", (event) => event.waitUntil(caches.keys()
  .then((all) => Promise.all(all.filter((other) => other.startsWith("findslip-") && other !== name).map((other) => caches.delete(other))))
  .then(() => clients.claim())));
addEventListener("fetch", (event) => event.respondWith(caches.match(event.request, { ignoreSearch: true }).then((kept) => kept ?? Response.error())));
