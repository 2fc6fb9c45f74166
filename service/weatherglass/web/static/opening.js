/* Getting a record to the program: a file, a drop, pasted text or an invented patient. It is sent as it is. */
"use strict";

Weatherglass.opening = (() => {
  /** Send bytes to an address of this program; says how far it is, can be cancelled. */
  function send(address, body, type, { onProgress, signal }) {
    return new Promise((resolve, reject) => {
      // Not fetch: only this tells how much of the file has gone, and a Blob is read from disk as it goes.
      const request = new XMLHttpRequest();
      request.open("POST", address);
      request.setRequestHeader("Content-Type", type);
      const token = Weatherglass.launch.bearer();
      if (token) request.setRequestHeader("Authorization", `Bearer ${token}`);
      request.responseType = "text";
      request.upload.addEventListener("progress", (event) => {
        if (event.lengthComputable) onProgress(event.loaded, event.total);
      });
      request.addEventListener("load", () => resolve({ status: request.status, text: request.responseText, type: request.getResponseHeader("Content-Type") || "" }));
      request.addEventListener("error", () => reject(new Error("The program at this address does not answer.")));
      request.addEventListener("abort", () => reject(new DOMException("Cancelled.", "AbortError")));
      signal.addEventListener("abort", () => request.abort());
      request.send(body);
    });
  }

  /** Fetch an invented patient's Bundle as a Blob: from here on it is like any other file. */
  async function demo(name, signal) {
    const answer = await fetch(`/demo/${encodeURIComponent(name)}.json`, { signal });
    if (!answer.ok) throw new Error("There is no such invented patient.");
    return answer.blob();
  }

  return { send, demo };
})();
