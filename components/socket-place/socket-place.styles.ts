import { css } from 'lit';

export const styles = css`
  .head {
    flex-wrap: wrap;
  }
  .tabs {
    display: flex;
    flex-wrap: wrap;
    gap: 2px 14px;
  }
  .tabs button {
    text-decoration: none;
    color: var(--ink-2);
    padding: 2px 0;
    white-space: nowrap;
  }
  .tabs i {
    font: italic var(--t-small) var(--serif);
    color: var(--ink-3);
    margin-left: 4px;
  }
  .tabs [aria-current] {
    color: var(--ink);
    font-weight: 650;
    box-shadow: 0 2px 0 var(--ink);
  }
  .tabs [aria-current] i {
    color: var(--ink);
  }
  .title {
    font: italic var(--t-body) / 1.5 var(--serif);
    color: var(--ink-2);
  }
  .netlist {
    font:
      var(--t-small) / 1.5 ui-monospace,
      monospace;
    overflow-x: auto;
    padding: 10px 12px;
    border: 1px solid var(--rule);
    color: var(--ink);
  }
  summary {
    min-height: 25px;
    font: var(--t-small) / 25px var(--serif);
    color: var(--ink-2);
    cursor: pointer;
  }
  .values {
    display: grid;
    grid-template-columns: repeat(auto-fill, minmax(270px, 1fr));
    gap: 0 34px;
    border-top: 1px solid var(--rule);
    margin-top: 12px;
    padding-top: 6px;
  }
  .values value-field {
    border-bottom: 1px solid var(--rule);
  }
  .values value-field[list] {
    grid-column: 1 / -1;
  }
  .nodes {
    width: 100%;
    border-collapse: collapse;
    margin-top: 14px;
  }
  .nodes caption {
    text-align: left;
    font: 600 var(--t-body) / 1.3 var(--serif);
    padding-bottom: 4px;
  }
  .nodes th,
  .nodes td {
    text-align: right;
    font-weight: 400;
    padding: 4px 0;
    border-bottom: 1px solid var(--rule);
  }
  .nodes th:first-child {
    text-align: left;
  }
  .nodes thead th {
    color: var(--ink-3);
    font-size: var(--t-small);
  }
  .nodes .this {
    font-weight: 650;
  }
  .nodes .new {
    color: var(--ink-3);
  }
  .cond {
    display: grid;
    grid-template-columns: repeat(auto-fill, minmax(270px, 1fr));
    gap: 0 34px;
    margin-top: 14px;
    padding-top: 6px;
    border-top: 1px solid var(--rule);
    color: var(--ink-2);
    font-size: var(--t-small);
  }
  .cond label {
    display: flex;
    justify-content: space-between;
    gap: 12px;
    align-items: center;
    min-height: var(--field);
  }
  .cond select {
    width: auto;
    min-width: 0;
    max-width: 14em;
    color: var(--ink);
  }
  .cond .field {
    width: 9em;
    text-align: right;
    color: var(--ink);
  }
  .cond button {
    justify-self: start;
    min-height: var(--field);
  }
  .cond .wrong {
    grid-column: 1 / -1;
    color: var(--ink);
  }
  @media (max-width: 640px) {
    .tabs {
      width: 100%;
      gap: 0 18px;
    }
    .tabs button {
      padding: 11px 2px 9px;
    }
    .values {
      grid-template-columns: 1fr;
    }
    summary,
    .values value-field {
      min-height: 48px;
    }
    summary {
      line-height: 48px;
    }
  }
  @media (min-width: 641px) {
    /* round the table, which by itself never gets shorter than its rows: unseen, it still took paper */
    .narrow {
      position: absolute;
      width: 1px;
      height: 1px;
      overflow: hidden;
      clip-path: inset(50%);
    }
  }
  @media print {
    .tabs,
    summary,
    .narrow,
    details:not([open]),
    .cond button,
    .cond label {
      display: none;
    }
    .netlist {
      overflow: visible;
      white-space: pre-wrap;
      overflow-wrap: anywhere;
    }
  }
`;
