import { css } from 'lit';

/** What every element shares: type, fields, buttons, focus, hidden text. Tokens only, no colour of its own. */
export const base = css`
  *,
  *::before,
  *::after {
    box-sizing: border-box;
  }
  :host {
    display: block;
  }
  :host([hidden]) {
    display: none;
  }
  h2,
  h3,
  h4,
  p,
  ul,
  dl,
  dd,
  figure,
  table,
  fieldset {
    margin: 0;
    padding: 0;
  }
  ul {
    list-style: none;
  }
  sub {
    font-size: 0.72em;
    line-height: 0;
  }
  b {
    font-weight: 650;
  }
  small {
    font-size: var(--t-tiny);
  }
  a {
    color: inherit;
    text-decoration-thickness: 1px;
    text-underline-offset: 3px;
  }
  input,
  select,
  button,
  textarea {
    font: inherit;
    font-variant-numeric: inherit;
    color: inherit;
    background: none;
    border: 0;
    border-radius: 0;
    padding: 0;
    margin: 0;
  }
  :focus-visible {
    outline: 2px solid var(--focus);
    outline-offset: 2px;
  }
  button {
    cursor: pointer;
    text-decoration: underline;
    text-decoration-color: var(--edge);
    text-underline-offset: 3px;
    text-decoration-thickness: 1px;
  }
  button:hover {
    text-decoration-color: var(--ink);
  }
  button[disabled] {
    color: var(--ink-3);
    text-decoration: none;
    cursor: default;
  }
  button[aria-pressed] {
    text-decoration: none;
    padding: 0 6px;
    color: var(--ink-3);
  }
  button[aria-pressed='true'] {
    color: var(--ink);
    font-weight: 650;
    box-shadow: inset 0 0 0 1px var(--edge);
  }
  button.act {
    text-decoration: none;
    border: 1px solid var(--edge);
    padding: 4px 12px;
  }
  button.act:hover {
    border-color: var(--ink);
  }
  input[type='checkbox'] {
    accent-color: var(--ink);
  }
  .field,
  select {
    width: 100%;
    min-height: calc(var(--field) - 4px);
    border-bottom: 1px solid var(--edge);
    font-weight: 600;
  }
  .field:focus,
  select:focus {
    background: var(--leaf);
  }
  .field::placeholder {
    color: var(--ink-3);
    font-weight: 400;
    opacity: 1;
  }
  select {
    appearance: none;
    padding-right: 16px;
    background:
      linear-gradient(45deg, transparent 50%, var(--ink-3) 50%) right 5px center / 5px 5px no-repeat,
      linear-gradient(-45deg, transparent 50%, var(--ink-3) 50%) right 0 center / 5px 5px no-repeat;
  }
  option {
    background: var(--leaf);
    color: var(--ink);
  }
  .dim {
    color: var(--ink-3);
  }
  .it {
    font-family: var(--serif);
    font-style: italic;
  }
  .unseen {
    position: absolute;
    width: 1px;
    height: 1px;
    overflow: hidden;
    clip-path: inset(50%);
    white-space: nowrap;
  }
  .s-usable {
    --c: var(--usable);
  }
  .s-marginal {
    --c: var(--marginal);
  }
  .s-unsuitable {
    --c: var(--unsuitable);
  }
  .s-undetermined,
  .s-unjudged {
    --c: var(--undetermined);
  }
  .s-failed {
    --c: var(--failed);
  }
  @media (max-width: 640px), (pointer: coarse) {
    button {
      min-height: 44px;
      min-width: 44px;
    }
  }
  @media print {
    :focus-visible {
      outline: none;
    }
    .unseen {
      display: none;
    }
    .field::placeholder {
      color: transparent;
    }
    p,
    li {
      orphans: 2;
      widows: 2;
    }
    h2,
    h3,
    h4 {
      break-after: avoid;
    }
    tr,
    li,
    figure {
      break-inside: avoid;
    }
  }
`;

/** A place of the page: its heavy rule, its number and its title. */
export const place = css`
  :host {
    min-width: 0;
  }
  .head {
    display: flex;
    align-items: baseline;
    justify-content: space-between;
    gap: 4px 16px;
    border-top: var(--l-head) solid var(--ink);
    padding: 7px 0 8px;
    min-height: 40px;
  }
  h2 {
    font: 600 var(--t-head) / 1.2 var(--serif);
    white-space: nowrap;
  }
  .no {
    font-style: italic;
    font-weight: 400;
    color: var(--ink-3);
    margin-right: 10px;
  }
  h3,
  h4 {
    font: 600 var(--t-body) / 1.3 var(--serif);
  }
  .sub {
    color: var(--ink-3);
    font-size: var(--t-small);
  }
  .say {
    font: var(--t-body) / 1.42 var(--serif);
    color: var(--ink-2);
    max-width: var(--measure);
  }
`;
