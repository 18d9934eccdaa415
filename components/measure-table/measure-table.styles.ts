import { css } from 'lit';

export const styles = css`
  table {
    border-collapse: collapse;
    width: 100%;
    table-layout: fixed;
    border-bottom: var(--l-head) solid var(--ink);
    print-color-adjust: exact;
  }
  thead th {
    font: 400 var(--t-small) / 1.2 var(--sans);
    color: var(--ink-3);
    text-align: right;
    padding: 0 0 4px;
    border-bottom: 1px solid var(--ink);
    white-space: nowrap;
  }
  thead th:first-child {
    text-align: left;
  }
  thead th.c-limit {
    padding-right: 8px;
  }
  .c-new {
    width: 54px;
  }
  .c-this {
    width: 98px;
  }
  .c-limit {
    width: 72px;
  }
  .c-pic {
    width: 100px;
  }
  td,
  tbody th {
    padding: 4px 0;
    height: 40px;
    text-align: right;
    font-weight: 400;
    line-height: 1.2;
    vertical-align: middle;
  }
  tbody th {
    text-align: left;
  }
  .title {
    display: flex;
    gap: 8px;
    align-items: center;
  }
  .word {
    display: block;
    font-weight: 400;
    font-size: var(--t-tiny);
    color: var(--c);
  }
  .new {
    color: var(--ink-3);
    font-size: var(--t-small);
  }
  .this {
    white-space: nowrap;
  }
  .this b {
    display: block;
  }
  .this small {
    display: block;
    color: var(--ink-3);
    white-space: nowrap;
    letter-spacing: -0.01em;
  }
  .so-far b {
    color: var(--ink-3);
  }
  td.lim {
    padding-left: 4px;
    padding-right: 4px;
  }
  .lim input {
    font-size: var(--t-small);
  }
  tbody[hidden] {
    display: none;
  }
  .more td {
    text-align: left;
    padding: 4px 0 6px 24px;
    height: auto;
    font-size: var(--t-small);
  }
  tr.s-unjudged th,
  tr.s-unjudged td {
    height: 32px;
    padding: 2px 0;
    color: var(--ink-2);
  }
  tr.s-unjudged b {
    font-weight: 400;
  }
  .lim input {
    width: 100%;
    height: 26px;
    text-align: right;
    border-bottom: 1px dotted var(--ink-3);
  }
  .lim input:hover {
    border-bottom: 1px solid var(--ink);
  }
  .lim input:focus {
    background: var(--leaf);
    border-bottom: 1px solid var(--ink);
  }
  .lim input[aria-invalid='true'] {
    border-bottom: 2px solid var(--ink);
  }
  .lim .none {
    color: var(--ink-3);
  }
  td.pic,
  th.pich {
    position: relative;
  }
  td.pic {
    padding: 0;
    background:
      linear-gradient(var(--rule), var(--rule)) 15.5px 0 / 1px 100% no-repeat,
      linear-gradient(var(--ink), var(--ink)) 49.25px 0 / 1.5px 100% no-repeat,
      linear-gradient(var(--wash), var(--wash)) 50px 0 / 50px 100% no-repeat;
  }
  td.pic.plain {
    background: none;
  }
  .pich span {
    position: absolute;
    bottom: 4px;
    transform: translateX(-50%);
  }
  .pich .a {
    left: 14px;
  }
  .pich .b {
    left: 52px;
    color: var(--ink);
    font-weight: 650;
  }
  .pich .c {
    left: auto;
    right: 0;
    transform: none;
  }
  svg {
    display: block;
    width: 100px;
    height: 34px;
  }
  .iv {
    stroke: var(--c);
    stroke-width: 2.4px;
    fill: none;
    stroke-linejoin: round;
  }
  .none-line {
    stroke: var(--c);
    stroke-width: 1.6px;
    stroke-dasharray: 3 4;
  }
  .o {
    fill: var(--paper);
    stroke: var(--ink-3);
    stroke-width: 1.3px;
  }
  .f {
    fill: var(--c);
  }
  .why {
    font: var(--t-small) / 1.4 var(--serif);
    color: var(--ink-2);
    padding: 0 0 8px 24px;
    text-align: left;
    height: auto;
  }
  .decides .word {
    font-weight: 650;
  }
  .about {
    background: var(--leaf);
    font-size: var(--t-small);
    text-align: left;
    height: auto;
    padding: 6px 8px 8px 24px;
    color: var(--ink-2);
    overflow-wrap: anywhere;
  }
  .about code {
    font: inherit;
    color: var(--ink);
  }
  @media (max-width: 640px) {
    table,
    tbody {
      display: block;
    }
    thead {
      display: none;
    }
    tr {
      display: grid;
      grid-template-columns: 100px 1fr auto;
      grid-template-areas: 'n n t' 'p w l';
      gap: 4px 12px;
      padding: 10px 0;
      border-bottom: 1px solid var(--rule);
      align-items: center;
    }
    tr.note,
    tr.more {
      display: block;
      border: 0;
      padding: 0;
    }
    tr.note td {
      display: block;
    }
    table {
      border-top: 1px solid var(--ink);
    }
    td,
    tbody th {
      height: auto;
      padding: 0;
    }
    tbody th {
      grid-area: n;
    }
    .this {
      grid-area: t;
    }
    .new {
      grid-area: w;
      text-align: left;
    }
    .new::before {
      content: 'new ';
    }
    td.lim {
      grid-area: l;
      padding: 0;
      display: flex;
      gap: 8px;
      align-items: center;
      justify-content: flex-end;
    }
    .lim::before {
      content: 'limit';
      color: var(--ink-3);
      font-size: var(--t-small);
    }
    .lim input {
      width: 92px;
      height: 44px;
    }
    td.pic {
      grid-area: p;
      width: 100px;
      height: 40px;
      display: flex;
      align-items: center;
    }
    .why {
      padding: 4px 0 0;
    }
  }
  @media print {
    td,
    tbody th {
      padding: 1px 0;
      height: auto;
    }
    .lim input {
      border: 0;
    }
    .about,
    .more {
      display: none;
    }
  }
`;
