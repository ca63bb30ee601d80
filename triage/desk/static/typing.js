// Keys held for the browser or the system, and letters still being put together (an accent, kana). A sign that
// a keyboard has on AltGr or Option ("@", "[") is a sign like any other.
export function isChord(event) {
  const sign = event.key.length === 1 && !/[\p{L}\d]/u.test(event.key);
  return event.isComposing || event.metaKey || ((event.ctrlKey || event.altKey) && !(sign && event.altKey));
}

// Whether a key belongs to a field: a field marked data-keys leaves all but letters to the page.
export function isTyping(element) {
  if (!(element instanceof Element)) return false;
  if (element.closest("[data-keys]")) return false;
  const field = element.closest("input, textarea, select");
  if (!field) return false;
  return !["checkbox", "radio", "button", "range"].includes(field.type);
}
