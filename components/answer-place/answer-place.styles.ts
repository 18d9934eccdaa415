import { css } from 'lit';

export const styles = css`
  :host(:focus) {
    outline: none;
  }
  .verdict h3 {
    font: 600 var(--t-verdict) / 1.15 var(--serif);
    display: flex;
    gap: 12px;
    align-items: center;
  }
  .verdict status-mark {
    --mark: 24px;
  }
  .verdict h3 small {
    font-weight: 400;
    font-style: italic;
    font-size: 1rem;
    color: var(--ink-3);
    margin-left: 4px;
    white-space: nowrap;
  }
  .lead {
    font: var(--t-lead) / 1.4 var(--serif);
    margin-top: 7px;
    max-width: var(--measure);
    overflow-wrap: anywhere;
  }
  .next {
    margin-top: 6px;
  }
  .fault {
    border-top: 1px solid var(--ink);
    border-bottom: 1px solid var(--ink);
    padding: 7px 0;
  }
  .prog {
    display: flex;
    gap: 12px;
    align-items: center;
    height: 26px;
    font-size: var(--t-small);
    color: var(--ink-2);
  }
  .track {
    flex: 1;
    height: 2px;
    background: var(--rule);
  }
  .track span {
    display: block;
    height: 2px;
    background: var(--ink);
    width: calc(var(--done, 0) * 1%);
  }
  measure-table {
    margin-top: 8px;
  }
  h4 {
    margin-top: 12px;
  }
  .list li {
    display: flex;
    gap: 8px;
    align-items: baseline;
    min-height: 25px;
    padding: 2px 0;
  }
  .list status-mark {
    --mark: 13px;
    align-self: flex-start;
    margin-top: 5px;
  }
  .list li > span {
    flex: 1;
  }
  .nj {
    display: flex;
    gap: 2px 18px;
    color: var(--ink-2);
    flex-wrap: wrap;
    align-items: center;
  }
  .nj .q {
    min-height: 25px;
    display: flex;
    gap: 4px;
    align-items: center;
    flex-wrap: wrap;
  }
  .mind {
    font: var(--t-small) / 1.4 var(--serif);
    color: var(--ink-2);
  }
  .mind li {
    padding: 2px 0;
    overflow-wrap: anywhere;
  }
  .print {
    color: var(--ink-3);
    font-size: var(--t-tiny);
    margin-top: 8px;
  }
  .wrong {
    border-top: 1px solid var(--ink);
    border-bottom: 1px solid var(--ink);
    padding: 10px 0;
    margin-top: 8px;
  }
  .wrong p {
    margin-top: 4px;
    white-space: pre-wrap;
    overflow-wrap: anywhere;
  }
  @media (min-width: 960px) and (max-width: 1279px) {
    .cols {
      display: grid;
      grid-template-columns: minmax(0, 1fr) minmax(0, 440px);
      column-gap: 34px;
    }
    .cols .right {
      grid-column: 2;
      grid-row: 1 / span 3;
    }
  }
  @media (max-width: 640px) {
    .verdict h3 {
      font-size: 1.5rem;
    }
    .list li {
      min-height: 48px;
      border-bottom: 1px solid var(--rule);
      align-items: center;
    }
  }
  @media print {
    button,
    .prog,
    .q:not(.noted) {
      display: none;
    }
    .verdict,
    .fault {
      break-inside: avoid;
    }
    .cols {
      display: block;
    }
  }
`;
