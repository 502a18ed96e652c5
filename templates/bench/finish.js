/* The end: all that was typed as one text, saved or copied; then nothing of it stays here. */
const Finish = (page, { takeAll, clearParts }) => {
  const { bench, data } = page;
  const { $, all, made, shown } = Dom;
  let finished = false;

  const finish = () => {
    const bad = takeAll();
    shown($("f-wrong"), bad.length
      ? `Not finished. Look again at: ${bad.join("; ")}. Mend or empty it.` : "");
    if (bad.length) return;
    shown($("f-said"), "");
    shown($("f-cleared"), "");
    $("f-text").value = bench.text();
    $("finished").hidden = false;
    finished = true;
    $("f-save").focus();
  };

  /* What is typed after finishing isn't in the text that is shown. */
  const refresh = () => {
    if (!finished) return;
    finished = false;
    $("finished").hidden = true;
  };

  const saveFile = () => {
    const text = $("f-text").value;
    const url = URL.createObjectURL(new Blob([text], { type: "text/plain" }));
    const link = made("a", "", { href: url, download: `${data.batch}-sheet.txt` });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(url), 60000);
    bench.sent(bench.items());
    shown($("f-said"), `${data.batch}-sheet.txt: look whether it is where your files go. `
      + "Then clear this browser.");
  };

  const copyText = async () => {
    try {
      await navigator.clipboard.writeText($("f-text").value);
      shown($("f-said"), "Copied. Paste it into a file or a message to yourself.");
    } catch {
      $("f-text").focus();
      $("f-text").select();
      shown($("f-said"), "Marked: copy it with the browser's own menu.");
    }
    bench.sent(bench.items());
  };

  const clear = () => {
    bench.clear();
    for (const field of all("input, textarea")) {
      if (field.type === "checkbox") field.checked = false;
      else field.value = "";
    }
    clearParts();
    page.refresh();
    shown($("f-cleared"), `Nothing of ${data.batch} is left in this browser but this page; close it.`);
  };

  return { refresh, finish, saveFile, copyText, clear };
};
