// @ts-check
// Asking the studio: data, files sent, and a WebSocket that is opened again when it breaks.

/** What is wrong, as the studio says it. */
export class Problem extends Error {
  /**
   * @param {{says: string, hint?: string | null, error?: string}} said
   */
  constructor(said) {
    super(said.hint ? `${said.says} ${said.hint}` : said.says);
    this.key = said.error || "";
  }
}

/**
 * What is wrong, in words.
 * @param {unknown} error
 */
export const wordsOf = (error) => (error instanceof Error ? error.message : String(error));

/**
 * @param {Response} answer
 * @returns {Promise<any>}
 */
async function dataOf(answer) {
  if (answer.status === 204) return null;
  const data = await answer.json().catch(() => ({ says: answer.statusText || String(answer.status) }));
  if (!answer.ok) throw new Problem(data);
  return data;
}

/**
 * Get data, or send a form's fields and get what comes of them; a `Problem` where it can't be.
 * @param {string} address
 * @param {Record<string, string | string[]>} [fields]
 * @returns {Promise<any>}
 */
export async function ask(address, fields) {
  const headers = { accept: "application/json" };
  if (fields === undefined) return dataOf(await fetch(address, { headers }));
  const body = new URLSearchParams();
  for (const [name, value] of Object.entries(fields)) {
    for (const one of Array.isArray(value) ? value : [value]) body.append(name, one);
  }
  return dataOf(await fetch(address, { method: "POST", headers, body }));
}

/**
 * Send a file; what it is called by afterwards. ``went`` is told the share that is sent.
 * @param {Blob} file
 * @param {string} name
 * @param {(share: number) => void} [went]
 * @returns {Promise<{upload: string, name: string, bytes: number}>}
 */
export function upload(file, name, went = () => {}) {
  return new Promise((done, failed) => {
    const request = new XMLHttpRequest();
    request.open("PUT", `/uploads?name=${encodeURIComponent(name)}`);
    request.setRequestHeader("accept", "application/json");
    request.responseType = "json";
    request.upload.onprogress = (event) => went(event.lengthComputable ? event.loaded / event.total : 0);
    request.onload = () =>
      request.status < 300 ? done(request.response) : failed(new Problem(request.response || { says: request.statusText }));
    request.onerror = () => failed(new Problem({ says: request.statusText || "network" }));
    request.send(file);
  });
}

// milliseconds before a broken connection is tried again: the first time, and at most
const SOON = 300;
const LATEST = 5000;

/**
 * A WebSocket to the studio, opened again when it breaks; what it tells comes as data.
 * @param {string} path
 * @param {(data: any) => void} told
 * @param {(open: boolean, socket: WebSocket) => void} [changed]
 * @returns {{send: (data: unknown) => boolean, close: () => void}}
 */
export function connect(path, told, changed = () => {}) {
  let wait = SOON;
  let closed = false;
  /** @type {WebSocket} */
  let socket;
  const open = () => {
    socket = new WebSocket(`ws://${location.host}${path}`);
    const own = socket;
    socket.onopen = () => {
      wait = SOON;
      changed(true, own);
    };
    socket.onmessage = (event) => told(JSON.parse(event.data));
    socket.onclose = () => {
      if (closed) return;
      changed(false, own);
      setTimeout(open, wait);
      wait = Math.min(2 * wait, LATEST);
    };
  };
  open();
  return {
    send(data) {
      if (socket.readyState !== WebSocket.OPEN) return false;
      socket.send(JSON.stringify(data));
      return true;
    },
    close() {
      closed = true;
      socket.close();
    },
  };
}
