/* Lays JSON out over lines without reading its numbers: 1.10 stays 1.10. */
"use strict";

/** Return JSON text with line breaks, cut at a length. */
Weatherglass.layOut = (text, most) => {
  const out = [];
  let depth = 0;
  let inString = false;
  let length = 0;
  const put = (piece) => {
    out.push(piece);
    length += piece.length;
  };
  let index = 0;
  for (; index < text.length && length < most; index += 1) {
    const sign = text[index];
    if (inString) {
      put(sign);
      if (sign === "\\") {
        index += 1;
        put(text[index] || "");
      } else if (sign === '"') inString = false;
    } else if (sign === '"') {
      inString = true;
      put(sign);
    } else if (sign === "{" || sign === "[") {
      const empty = text[index + 1] === (sign === "{" ? "}" : "]");
      depth += 1;
      put(empty ? sign : `${sign}\n${"  ".repeat(depth)}`);
    } else if (sign === "}" || sign === "]") {
      depth -= 1;
      const after = text[index - 1];
      put(after === "{" || after === "[" ? sign : `\n${"  ".repeat(depth)}${sign}`);
    } else if (sign === ",") put(`,\n${"  ".repeat(depth)}`);
    else if (sign === ":") put(": ");
    else if (sign === "\n" && depth > 0) continue;
    else put(sign);
  }
  return { text: out.join(""), cut: index < text.length };
};
