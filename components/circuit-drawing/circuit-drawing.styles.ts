import { css, unsafeCSS } from 'lit';
import { DRAWING_STYLE } from '../../src/drawing/style.ts';

/** The drawing's own sheet, one for page, file and print. */
export const drawing = css`
  ${unsafeCSS(DRAWING_STYLE)}
`;

export const styles = css`
  .sheet {
    position: relative;
    container-type: inline-size;
    max-width: 820px;
    width: 100%;
    margin: 0 auto;
  }
  svg {
    display: block;
  }
  .stale .tag text.this {
    fill: var(--ink-3);
  }
  circle.new {
    fill: var(--paper);
    stroke: var(--ink-3);
    stroke-width: 1.3px;
  }
  circle.this {
    fill: var(--ink);
  }
  .key {
    position: absolute;
    left: 0;
    top: 0;
    font-size: var(--t-small);
    line-height: 1.5;
    max-width: 27%;
  }
  .key p {
    display: flex;
    align-items: center;
    gap: 6px;
  }
  .key svg {
    width: 10px;
    height: 10px;
    flex: none;
  }
  .key .ttl {
    font: italic var(--t-body) / 1.35 var(--serif);
    color: var(--ink-2);
  }
  .val {
    position: absolute;
    left: var(--x);
    top: var(--y);
    transform: translateY(-50%);
    font-size: clamp(11px, 2.08cqw, 15px);
    line-height: 1;
    text-align: left;
    white-space: nowrap;
  }
  .val.end {
    transform: translate(-100%, -50%);
    text-align: right;
  }
  .val:focus-within {
    z-index: 4;
  }
  @media (max-width: 640px) {
    .key {
      position: static;
      display: flex;
      flex-wrap: wrap;
      gap: 2px 16px;
      margin-bottom: 8px;
      max-width: none;
    }
    .key .ttl {
      width: 100%;
    }
    .schematic .id {
      font-size: 22px;
    }
    .schematic .pin,
    .schematic .type,
    .schematic .name,
    .schematic .tag,
    .schematic text.leak,
    .schematic .leak .leader {
      display: none;
    }
    .vals {
      margin-top: 8px;
      border-top: 1px solid var(--rule);
    }
    .val,
    .val.end {
      position: static;
      transform: none;
      display: block;
      font-size: 1rem;
      line-height: 1.3;
      border-bottom: 1px solid var(--rule);
      text-align: left;
      white-space: normal;
    }
    span.val {
      display: none;
    }
  }
`;
