// The one place that knows the vendored library: everything else imports from here.
import { Fragment, h, render } from "./vendor/preact.js";
import htm from "./vendor/htm.js";

export { useEffect, useId, useLayoutEffect, useMemo, useRef, useState } from "./vendor/hooks.js";
export { Fragment, render };
// Text put into html`...` is always escaped: names from drawings never become markup.
export const html = htm.bind(h);
