import { css } from 'lit';

export const styles = css`
  .picks {
    display: grid;
    grid-template-columns: repeat(auto-fit, minmax(min(100%, 210px), 1fr));
    gap: 6px 24px;
    margin-top: 10px;
  }
  work-line {
    margin-top: 8px;
  }
  select {
    text-overflow: ellipsis;
  }
  .finding {
    font: 600 var(--t-lead) / 1.4 var(--serif);
    margin-top: 10px;
    max-width: var(--measure);
  }
  p.plain {
    font: var(--t-body) / 1.45 var(--serif);
    margin-top: 6px;
    max-width: var(--measure);
  }
  p.plain + .note {
    margin-top: 10px;
  }
  .map {
    --chart-height: 460px;
    --paper-width: 680px;
    margin-top: 14px;
  }
  .key {
    display: grid;
    grid-template-columns: repeat(auto-fit, minmax(min(100%, 320px), 1fr));
    gap: 4px 24px;
    margin-top: 10px;
    font-size: var(--t-small);
    color: var(--ink-2);
  }
  .key li {
    display: flex;
    gap: 10px;
    align-items: flex-start;
  }
  .key svg {
    flex: none;
    width: 36px;
    height: 16px;
    fill: none;
    stroke: var(--ink);
  }
  .limit {
    stroke-width: 2.4px;
  }
  .edge {
    stroke-width: 1.4px;
    stroke-dasharray: 7 4;
  }
  .level {
    stroke: var(--ink-3);
    stroke-dasharray: 1 3;
  }
  .refused {
    fill: var(--wash);
    stroke: var(--rule);
  }
  .bars {
    stroke-width: 1.6px;
  }
  .this {
    fill: var(--ink);
  }
  .new {
    stroke: var(--ink-3);
    stroke-width: 1.5px;
  }
  @media (max-width: 640px) {
    .map {
      --chart-height: 380px;
    }
  }
  @media print {
    .picks,
    .buttons,
    h2,
    .lead {
      display: none;
    }
  }
`;
