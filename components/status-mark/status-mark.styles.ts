import { css } from 'lit';

export const styles = css`
  :host {
    display: inline-block;
    flex: none;
    line-height: 0;
  }
  svg {
    display: block;
    width: var(--mark, 16px);
    height: var(--mark, 16px);
  }
  .fill {
    fill: var(--c);
  }
  .line {
    fill: none;
    stroke: var(--c);
    stroke-width: 1.6px;
    stroke-linejoin: round;
    stroke-linecap: round;
  }
  .s-undetermined .line {
    stroke-linecap: butt;
    stroke-width: 2px;
  }
  .cut {
    fill: none;
    stroke: var(--paper);
    stroke-width: 2px;
  }
`;
