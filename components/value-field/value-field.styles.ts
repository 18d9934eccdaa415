import { css } from 'lit';

export const styles = css`
  :host {
    position: relative;
  }
  label {
    display: flex;
    justify-content: space-between;
    align-items: center;
    gap: 12px;
    min-height: var(--field);
  }
  .n {
    color: var(--ink-2);
  }
  .n small {
    color: var(--ink-3);
    margin-left: 6px;
    font-size: var(--t-tiny);
    white-space: nowrap;
  }
  input.v {
    width: 6.5em;
    flex: none;
    height: calc(var(--field) - 4px);
    text-align: right;
    font-weight: 600;
    border-bottom: 1px dotted var(--ink-3);
  }
  input.v:hover {
    border-bottom: 1px solid var(--ink);
  }
  input.v:focus {
    background: var(--leaf);
    border-bottom: 1px solid var(--ink);
  }
  input[aria-invalid='true'] {
    border-bottom: 2px solid var(--ink);
  }
  :host([list]) input.v {
    width: 12.5em;
  }
  select.v {
    width: auto;
  }
  .pop {
    position: absolute;
    z-index: 5;
    top: 100%;
    right: 0;
    width: max-content;
    min-width: 13em;
    max-width: min(21em, 88vw);
    background: var(--leaf);
    border: 1px solid var(--edge);
    padding: 8px 10px;
    margin-top: 3px;
    font: var(--t-small) / 1.4 var(--sans);
    text-align: left;
    white-space: normal;
    color: var(--ink-2);
  }
  .pop p + p,
  .pop .tol {
    margin-top: 4px;
  }
  .pop b {
    color: var(--ink);
  }
  .tol {
    display: flex;
    flex-wrap: wrap;
    gap: 4px 12px;
    align-items: center;
  }
  .tol label {
    display: inline-flex;
    min-height: 24px;
    gap: 5px;
    justify-content: flex-start;
  }
  .tol input:not([type='checkbox']) {
    width: 3em;
    text-align: right;
    border-bottom: 1px solid var(--edge);
  }
  .tol input.marked {
    width: 6em;
  }
  @media (min-width: 641px) {
    :host([drawn]) {
      display: block;
    }
    :host([drawn]) label {
      min-height: 0;
      gap: 0;
    }
    :host([drawn]) .n {
      position: absolute;
      width: 1px;
      height: 1px;
      overflow: hidden;
      clip-path: inset(50%);
    }
    :host([drawn]) input.v {
      width: var(--w, 6ch);
      height: 1.55em;
      font-weight: 400;
      text-align: inherit;
      background: var(--paper);
      line-height: 1;
    }
    :host([drawn]) input.v:focus {
      background: var(--leaf);
    }
    :host([drawn]) .pop {
      right: auto;
      left: 0;
    }
    :host([drawn].end) .pop {
      left: auto;
      right: 0;
    }
  }
  @media (max-width: 640px) {
    /* a list under its name, so that neither is squeezed */
    :host([list]) label {
      flex-wrap: wrap;
      gap: 0;
      justify-content: flex-end;
    }
    :host([list]) .n {
      flex-basis: 100%;
      padding-top: 6px;
    }
  }
  @media (max-width: 640px), (pointer: coarse) {
    .tol input[type='checkbox'] {
      width: 22px;
      height: 22px;
    }
    .tol label {
      min-height: 44px;
    }
    .tol input:not([type='checkbox']) {
      min-height: 40px;
    }
  }
  @media print {
    .pop {
      display: none;
    }
    input.v,
    select.v {
      border: 0;
      background: none;
    }
  }
`;
