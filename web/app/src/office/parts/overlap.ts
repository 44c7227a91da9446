/** Whether two boxes of one plane have a point in common. */
export const overlap = (a: DOMRect, b: DOMRect) =>
  a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
