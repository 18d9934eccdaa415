import { css } from 'lit';

export const styles = css`
  .row {
    display: grid;
    grid-template-columns: minmax(0, 1fr) 86px 60px;
    align-items: center;
    column-gap: 8px;
    min-height: var(--field);
  }
  .row.wide {
    grid-template-columns: 52px minmax(0, 1fr);
  }
  .row.type {
    grid-template-columns: 52px minmax(0, 92px) minmax(0, 1fr);
  }
  .row label,
  .row .label {
    color: var(--ink-2);
  }
  .row .field {
    text-align: right;
  }
  .u {
    color: var(--ink-3);
    font-size: var(--t-small);
    line-height: 1.2;
  }
  .err {
    grid-column: 1 / -1;
    font-size: var(--t-small);
    padding: 2px 0 4px;
  }
  .field[aria-invalid='true'] {
    border-bottom: 2px solid var(--ink);
  }
  .rows {
    margin-top: 4px;
  }
  .head select {
    width: auto;
    min-height: 24px;
    max-width: 11em;
    color: var(--ink-2);
    font-weight: 400;
    font-size: var(--t-small);
  }
  .head > span {
    display: flex;
    gap: 10px;
    align-items: baseline;
    font-size: var(--t-small);
  }
  fieldset {
    border: 0;
    margin-top: 10px;
    border-top: 1px solid var(--rule);
    min-width: 0;
    padding: 0;
  }
  legend {
    padding: 0 8px 0 0;
    color: var(--ink-2);
  }
  legend select {
    width: auto;
    font-weight: 600;
    color: var(--ink);
  }
  .times {
    display: grid;
    grid-template-columns: repeat(4, minmax(0, 1fr));
    gap: 4px 10px;
    margin-top: 4px;
  }
  .cell {
    min-width: 0;
  }
  .cell input {
    width: 100%;
    text-align: right;
  }
  .min {
    color: var(--ink-3);
    font-size: var(--t-small);
    height: 22px;
  }
  .min:hover,
  .min:focus {
    color: var(--ink);
    background: var(--leaf);
  }
  .min::placeholder {
    color: var(--ink-3);
    font-family: var(--serif);
    font-style: italic;
    opacity: 1;
  }
  .next .field {
    border-bottom: 2px solid var(--ink);
  }
  .hint {
    display: flex;
    flex-wrap: wrap;
    gap: 4px 12px;
    color: var(--ink-3);
    font-size: var(--t-tiny);
    margin-top: 5px;
    align-items: center;
  }
  .hint .clock {
    margin-left: auto;
  }
  kbd {
    font: inherit;
    border: 1px solid var(--edge);
    padding: 0 4px;
    border-radius: 2px;
  }
  .warm {
    margin-top: 12px;
    --chart-height: 190px;
    --paper-height: 130px;
  }
  .say {
    margin-top: 8px;
  }
  details {
    border-top: 1px solid var(--rule);
    margin-top: 10px;
    padding-top: 4px;
  }
  summary {
    cursor: pointer;
    color: var(--ink-2);
    min-height: var(--field);
    display: flex;
    align-items: center;
    text-decoration: underline;
    text-decoration-color: var(--edge);
    text-underline-offset: 3px;
  }
  .wear {
    width: 100%;
    border-collapse: collapse;
    margin-top: 8px;
    font-size: var(--t-small);
  }
  .wear th {
    text-align: left;
    font-weight: 400;
    color: var(--ink-2);
    padding: 2px 8px 2px 0;
    vertical-align: top;
  }
  .wear td {
    text-align: right;
    padding: 2px 0;
    vertical-align: top;
  }
  .wear td small {
    display: block;
    color: var(--ink-3);
  }
  @media (max-width: 959px) and (min-width: 641px) {
    .form {
      max-width: 460px;
    }
  }
  @media (max-width: 640px) {
    .row {
      grid-template-columns: minmax(0, 1fr) 112px 74px;
    }
    .times {
      grid-template-columns: repeat(3, minmax(0, 1fr));
      gap: 6px 16px;
    }
    .min {
      height: 44px;
    }
    .hint .keys {
      display: none;
    }
  }
  .written {
    display: none;
  }
  @media print {
    /* a list does not wrap, and a long name would be cut */
    .written {
      display: block;
    }
    #bench {
      display: none;
    }
    :host {
      columns: 2;
      column-gap: 10mm;
    }
    .head {
      column-span: all;
    }
    .form,
    .warm,
    details {
      break-inside: avoid;
    }
    .hint,
    .next,
    summary,
    .unread > .field,
    .unread > select,
    .unread > .u,
    details:not([open]):not(:has(.wear)),
    details .unread,
    button {
      display: none;
    }
    details::details-content {
      display: block;
      content-visibility: visible;
      block-size: auto;
    }
    .unread::after {
      content: 'not read';
      grid-column: 2 / -1;
      text-align: right;
    }
    .field,
    select {
      border: 0;
      background: none;
    }
  }
`;
