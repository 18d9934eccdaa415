import { css } from 'lit';

/** Pages of their own beside the bench: one column of a book. */
export const form = css`
  section {
    max-width: 760px;
    margin: 0 auto;
  }
  h2 {
    font: 600 var(--t-verdict) / 1.2 var(--serif);
    border-top: var(--l-head) solid var(--ink);
    padding-top: 10px;
  }
  h3 {
    font: 600 var(--t-lead) / 1.3 var(--serif);
    margin-top: 22px;
    border-top: 1px solid var(--rule);
    padding-top: 8px;
  }
  .lead {
    font: var(--t-lead) / 1.45 var(--serif);
    color: var(--ink-2);
    margin-top: 6px;
    max-width: var(--measure);
  }
  .row {
    display: grid;
    grid-template-columns: minmax(0, 1fr) minmax(0, 200px) 90px;
    gap: 2px 12px;
    align-items: center;
    min-height: var(--field);
    padding: 2px 0;
  }
  /* a name is as long as it is */
  .row.name {
    grid-template-columns: minmax(0, max-content) minmax(180px, 1fr);
    gap: 2px 18px;
    margin-top: 14px;
  }
  .row label {
    color: var(--ink-2);
  }
  .row .u,
  .note {
    color: var(--ink-3);
    font-size: var(--t-small);
  }
  p.note + p.note {
    margin-top: 4px;
  }
  .row .note {
    grid-column: 1 / -1;
    max-width: var(--measure);
  }
  /* its entries are as long as they are */
  .row select {
    grid-column: 2 / -1;
  }
  .row input[type='checkbox'] {
    justify-self: start;
    width: 18px;
    height: 18px;
  }
  .buttons {
    display: flex;
    flex-wrap: wrap;
    gap: 8px 16px;
    margin-top: 18px;
    align-items: center;
  }
  .wrong {
    border-top: 1px solid var(--ink);
    border-bottom: 1px solid var(--ink);
    padding: 8px 0;
    margin-top: 12px;
    white-space: pre-wrap;
    overflow-wrap: anywhere;
    font-size: var(--t-small);
  }
  @media print {
    section {
      max-width: none;
    }
    h3 {
      margin-top: 14px;
    }
  }
  @media (max-width: 640px) {
    .row.name {
      grid-template-columns: 1fr;
    }
    .row {
      grid-template-columns: minmax(0, 1fr) 120px 56px;
    }
  }
`;
