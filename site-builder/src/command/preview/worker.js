// Stands before the site's own worker in a preview: pages are asked for anew, so
// that what was just saved is seen. Without the preview the kept ones serve.
addEventListener("fetch", (event) => {
  // What the preview asks for itself goes past the worker, so that it ends with its page.
  if (new URL(event.request.url).pathname.startsWith("/.preview/")) return event.stopImmediatePropagation();
  if (event.request.mode !== "navigate") return;
  event.stopImmediatePropagation();
  const asked = fetch(event.request.url, { headers: { Preview: "page" }, redirect: "manual" });
  event.respondWith(asked.catch(() => answer(event.request)));
});
