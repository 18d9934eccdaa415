import { css } from 'lit';

export const styles = css`
  .box {
    position: relative;
    height: var(--chart-height, 248px);
    min-width: 0;
  }
  canvas {
    position: absolute;
    inset: 0;
  }
  figcaption {
    font: var(--t-small) / 1.4 var(--serif);
    color: var(--ink-2);
    margin-top: 4px;
  }
  /* a target as high as a finger would part the lines of the caption */
  @media screen and (max-width: 640px), screen and (pointer: coarse) {
    figcaption button {
      display: block;
      text-align: left;
    }
  }
  figcaption b {
    font-weight: 600;
    margin-right: 5px;
    color: var(--ink);
  }
  .scroll {
    max-height: 260px;
    overflow: auto;
    border-top: 1px solid var(--rule);
    border-bottom: 1px solid var(--rule);
    margin-top: 6px;
  }
  table {
    border-collapse: collapse;
    width: 100%;
    font-size: var(--t-small);
  }
  th,
  td {
    text-align: right;
    font-weight: 400;
    padding: 3px 8px 3px 0;
  }
  th:first-child {
    text-align: left;
  }
  thead th {
    color: var(--ink-3);
    border-bottom: 1px solid var(--rule);
  }
  @media print {
    button {
      display: none;
    }
    /* as it was drawn for the paper: smaller where there is less room, never cut */
    .box {
      width: auto !important;
      height: auto !important;
    }
    canvas {
      position: static;
      width: 100% !important;
      height: auto !important;
    }
    .scroll {
      max-height: none;
      overflow: visible;
    }
  }
`;
