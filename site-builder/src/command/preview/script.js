// Waits for news from the preview and loads the page again when there is some.
// The preview serves it beside the site; the built site never holds it.

const seen = new URL(import.meta.url).searchParams.get("round");
async function follow() {
  // A question left open by a page that is gone holds one of the few connections
  // that a browser opens to one host, and after six of them the next page waits.
  const leaving = new AbortController();
  addEventListener("pagehide", () => leaving.abort(), { once: true });
  for (let news = seen; news === seen;) {
    try {
      const answer = await fetch(`/.preview/news?round=${seen}`, { cache: "no-store", signal: leaving.signal });
      if (answer.ok) news = await answer.text();
    } catch {
      if (leaving.signal.aborted) return;
      // The preview was stopped; it may come back.
      await new Promise((done) => setTimeout(done, 500));
    }
  }
  // Without its worker the browser keeps no page of the site as it was.
  const workers = await navigator.serviceWorker?.getRegistrations() ?? [];
  await Promise.all(workers.map((worker) => worker.unregister()));
  location.reload();
}

// Not before the page is there: a question that stays open would keep it from ever being loaded.
if (document.readyState === "complete") follow();
else addEventListener("load", follow, { once: true });
// Taken back out of the browser's memory, a page asks again.
addEventListener("pageshow", ({ persisted }) => { if (persisted) follow(); });
