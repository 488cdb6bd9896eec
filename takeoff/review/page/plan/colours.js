// The plan's colours, read from the style sheet so that light and dark are decided in one place.

const names = (root, prefix, count) =>
  Array.from({ length: count }, (_, i) => root.getPropertyValue(`--${prefix}-${i}`).trim());

export function coloursOf(element) {
  const root = getComputedStyle(element);
  const one = (name) => root.getPropertyValue(`--${name}`).trim();
  return {
    mark: one("plan-paper"),
    paper: one("plan-paper"),
    lines: names(root, "plan-line", 4),
    text: one("plan-text"),
    tints: names(root, "plan-tint", 6),
    leftOut: one("plan-left-out"),
    ink: one("plan-ink"),
    chip: one("plan-chip"),
    pick: one("plan-pick"),
    show: one("plan-show"),
    showEdge: one("plan-show-edge"),
    flag: one("plan-flag"),
    flagInk: one("plan-flag-ink"),
    opening: {
      door: one("plan-door"),
      window: one("plan-window"),
      opening: one("plan-gap"),
      rooflight: one("plan-rooflight"),
    },
    tool: one("plan-tool"),
  };
}
