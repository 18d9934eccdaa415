import { css } from 'lit';

/** Tables of the further places: hairlines, figures in columns, no filled rows. */
export const tables = css`
  .scroll {
    overflow-x: auto;
  }
  table {
    border-collapse: collapse;
    width: 100%;
    margin-top: 10px;
    font-variant-numeric: tabular-nums;
  }
  th {
    text-align: left;
    font-weight: 400;
    color: var(--ink-3);
    font-size: var(--t-small);
    padding: 4px 14px 4px 0;
    vertical-align: bottom;
  }
  tbody th {
    font-size: inherit;
    color: var(--ink);
    vertical-align: baseline;
  }
  td {
    border-top: 1px solid var(--rule);
    padding: 5px 14px 5px 0;
    vertical-align: baseline;
  }
  tbody th {
    border-top: 1px solid var(--rule);
    padding: 5px 14px 5px 0;
  }
  td.n,
  th.n {
    text-align: right;
    white-space: nowrap;
  }
  @media print {
    td,
    tbody th {
      padding-top: 2px;
      padding-bottom: 2px;
    }
    .scroll {
      overflow: visible;
    }
  }
`;
