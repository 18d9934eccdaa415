import { css } from 'lit';

export const styles = css`
  :host {
    position: relative;
  }
  input {
    text-align: left;
  }
  ul {
    position: absolute;
    z-index: 6;
    left: 0;
    top: 100%;
    /* beside its label, within the narrowest page */
    width: min(340px, 100vw - 100px);
    max-height: 300px;
    overflow: auto;
    background: var(--leaf);
    border: 1px solid var(--edge);
    margin-top: 3px;
  }
  li {
    display: flex;
    gap: 10px;
    align-items: baseline;
    padding: 5px 10px;
    cursor: pointer;
    min-height: var(--field);
  }
  li b {
    min-width: 5.5em;
  }
  li[aria-selected='true'] {
    background: var(--select);
  }
  li span {
    color: var(--ink-2);
    font-size: var(--t-small);
  }
  .nothing {
    color: var(--ink-2);
    cursor: default;
  }
  @media print {
    .field {
      border: 0;
    }
  }
`;
