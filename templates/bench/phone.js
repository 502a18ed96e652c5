/* Only in the page that `batch sheet --phone` serves: entries go to the computer as they are taken,
   and wait here while it can't be reached. */
const Wire = (() => {
  const AT_ONCE = 50;

  const start = (bench, said) => {
    let busy = false;
    let refused = "";
    const state = (reached) => {
      said({ reached, waiting: bench.unsent().length, refused });
    };
    const send = async () => {
      const items = bench.unsent().slice(0, AT_ONCE).map((item) => ({ ...item }));
      if (busy || !items.length) return;
      busy = true;
      try {
        const answer = await fetch(bench.data.post, {
          method: "POST", cache: "no-store", credentials: "omit", redirect: "error",
          headers: { "Content-Type": "application/json" },
          body: JSON.stringify({ batch: bench.data.batch, entries: items.map((i) => bench.told(i)) }),
        });
        const told = answer.headers.get("Content-Type") === "application/json"
          ? await answer.json() : {};
        refused = answer.ok ? "" : told.refused || "";
        if (answer.ok) bench.sent(items);
        state(answer.ok || Boolean(refused));
      } catch {
        state(false);
      }
      busy = false;
      if (!refused && bench.unsent().length > 0) setTimeout(send, 4000);
    };
    setInterval(send, 15000);
    addEventListener("online", send);
    document.addEventListener("visibilitychange", () => { if (!document.hidden) send(); });
    state(true);
    return send;
  };

  return { start };
})();
