/**
 * The classes of `toSvg` in the page's tokens. One sheet for the page's element, for files and for print; a colour is
 * always a token.
 */
export const DRAWING_STYLE = `
.schematic { display: block; width: 100%; height: auto; overflow: visible; }
.schematic path { fill: none; stroke: var(--ink); stroke-linecap: round; stroke-linejoin: round; vector-effect: non-scaling-stroke; }
.schematic .wire { stroke-width: var(--l-wire); }
.schematic .part { stroke-width: var(--l-part); }
.schematic .envelope { stroke-width: var(--l-envelope); }
.schematic .electrode { stroke-width: var(--l-electrode); }
.schematic .grid { stroke-width: var(--l-part); stroke-dasharray: 7 5; stroke-linecap: butt; }
.schematic .heater { stroke: var(--ink-3); stroke-width: var(--l-wire); }
.schematic .outside { stroke: var(--ink-3); stroke-width: var(--l-hair); stroke-dasharray: var(--d-outside); }
.schematic .open { fill: var(--paper); stroke-width: var(--l-wire); }
.schematic .solid { fill: var(--ink); stroke-width: var(--l-part); }
.schematic .dot { fill: var(--ink); stroke: none; }
.schematic .leader { stroke: var(--ink-3); stroke-width: var(--l-hair); }
.schematic .field { stroke: var(--ink-3); stroke-width: var(--l-hair); stroke-dasharray: 1 2; stroke-linecap: butt; }
.schematic text { font-family: var(--sans); font-size: 12.5px; font-variant-numeric: var(--figures); fill: var(--ink); paint-order: stroke; stroke: var(--paper); stroke-width: 3px; stroke-linejoin: round; }
.schematic .id { font-family: var(--serif); font-size: 14px; font-style: italic; }
.schematic .sub { font-size: .72em; font-style: normal; }
.schematic .name, .schematic .type { font-size: 12px; fill: var(--ink-3); }
.schematic .pin { font-size: 11px; fill: var(--ink-3); }
.schematic .tag text { font-size: 12px; }
.schematic .tag text.new { fill: var(--ink-3); }
.schematic .tag text.this { font-size: 12.5px; font-weight: 650; }
.schematic .tag circle.new { fill: var(--paper); stroke: var(--ink-3); stroke-width: 1.3px; }
.schematic .tag circle.this { fill: var(--ink); stroke: none; }
.schematic .status-usable { --status: var(--usable); }
.schematic .status-marginal { --status: var(--marginal); }
.schematic .status-unsuitable { --status: var(--unsuitable); }
.schematic .status-undetermined, .schematic .status-unjudged { --status: var(--undetermined); }
.schematic .status-failed { --status: var(--failed); }
.schematic .wash { stroke: color-mix(in srgb, var(--status) var(--path-wash), transparent); stroke-width: 9px; }
.schematic .leak path { stroke: var(--status); stroke-width: var(--l-part); }
.schematic .leak .leader { stroke-width: var(--l-hair); }
.schematic .leak .dot { fill: var(--status); }
.schematic .leak .arrow { fill: var(--status); stroke: none; }
.schematic text.leak { fill: var(--status); }
`;
