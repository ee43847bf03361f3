// Files that the page makes of what it holds.

/** A sound file as the browser can seek in it, from the address that holds it as text. */
export function fileOf(address) {
  const comma = address.indexOf(",");
  const bytes = Uint8Array.from(atob(address.slice(comma + 1)), (sign) => sign.charCodeAt(0));
  return URL.createObjectURL(new Blob([bytes], { type: address.slice(5, address.indexOf(";")) }));
}
