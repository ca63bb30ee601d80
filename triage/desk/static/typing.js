// Whether a key belongs to a field: a field marked data-keys leaves all but letters to the page.
export function isTyping(element) {
  if (!(element instanceof Element)) return false;
  if (element.closest("[data-keys]")) return false;
  const field = element.closest("input, textarea, select");
  if (!field) return false;
  return !["checkbox", "radio", "button", "range"].includes(field.type);
}
