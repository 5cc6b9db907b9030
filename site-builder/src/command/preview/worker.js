// Stands before the site's own worker in a preview: pages are asked for anew, so
// that what was just saved is seen. Without the preview the kept ones serve.
addEventListener("fetch", (event) => {
  if (event.request.mode !== "navigate") return;
  event.stopImmediatePropagation();
  const asked = fetch(event.request.url, { headers: { Preview: "page" }, redirect: "manual" });
  event.respondWith(asked.catch(() => answer(event.request)));
});
