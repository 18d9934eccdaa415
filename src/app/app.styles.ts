import { css } from 'lit';

export const styles = css`
  :host {
    display: block;
    min-height: 100vh;
  }
  .skip {
    position: absolute;
    left: -999px;
  }
  .skip:focus {
    left: 8px;
    top: 8px;
    background: var(--leaf);
    padding: 8px;
    z-index: 9;
  }
  .top {
    display: flex;
    flex-wrap: wrap;
    align-items: baseline;
    gap: 4px var(--s5);
    padding: var(--s3) 28px 4px;
  }
  .mark {
    font: 600 1.125rem var(--serif);
  }
  .doc {
    margin: 0;
    font: 600 var(--t-body) / 1.4 var(--serif);
    flex: 1;
    min-width: 10em;
    overflow-wrap: anywhere;
  }
  nav {
    display: flex;
    flex-wrap: wrap;
    gap: 2px 18px;
  }
  nav a {
    text-decoration: none;
    color: var(--ink-2);
  }
  nav a[aria-current] {
    color: var(--ink);
    font-weight: 650;
    text-decoration: underline;
    text-decoration-thickness: 2px;
    text-underline-offset: 6px;
  }
  .tools {
    margin-left: auto;
    display: flex;
    flex-wrap: wrap;
    gap: 2px 16px;
    align-items: baseline;
  }
  .saved {
    color: var(--ink-3);
    font-size: var(--t-small);
  }
  .saved.not {
    color: var(--ink);
  }
  .notice {
    margin: 4px 28px 0;
    padding: 6px 0;
    border-top: 1px solid var(--rule);
    font-family: var(--serif);
    color: var(--ink-2);
  }
  main {
    padding: 6px 28px 32px;
    max-width: 1680px;
    margin: auto;
  }
  .bench {
    display: grid;
    grid-template-columns: 280px minmax(0, 1fr) 452px;
    grid-template-rows: auto 1fr;
    gap: 0 34px;
    align-items: start;
  }
  answer-place {
    grid-row: 1 / span 2;
    grid-column: 3;
  }
  .figs {
    grid-column: 1 / 3;
    grid-row: 2;
    display: grid;
    grid-template-columns: repeat(auto-fit, minmax(min(100%, 340px), 1fr));
    gap: 24px 34px;
    margin-top: 20px;
    border-top: 1px solid var(--rule);
    padding-top: 12px;
  }
  .figs.old curve-chart {
    opacity: 0.55;
  }
  .figs:empty {
    display: none;
  }
  .dock {
    display: none;
  }
  .paper {
    display: none;
  }
  @media (max-width: 1279px) and (min-width: 960px) {
    .bench {
      grid-template-columns: 280px minmax(0, 1fr);
    }
    answer-place {
      grid-column: 1 / -1;
      grid-row: 2;
      margin-top: 20px;
    }
    .figs {
      grid-column: 1 / -1;
      grid-row: 3;
    }
  }
  @media (max-width: 959px) {
    .bench {
      display: block;
    }
    .bench > * {
      margin-top: 24px;
    }
    .figs {
      grid-template-columns: 1fr;
      max-width: 640px;
    }
  }
  @media (max-width: 640px) {
    .top,
    main {
      padding-left: 16px;
      padding-right: 16px;
    }
    .notice {
      margin: 4px 16px 0;
    }
    nav {
      order: 3;
      width: 100%;
    }
    nav a {
      padding: 10px 0;
    }
    .tools {
      margin-left: 0;
    }
    footer {
      position: sticky;
      bottom: 0;
    }
    .dock {
      width: 100%;
      text-align: left;
      display: flex;
      gap: 12px;
      align-items: center;
      margin: 20px 0 0;
      padding: 12px 16px;
      background: var(--leaf);
      border-top: 1.5px solid var(--ink);
      text-decoration: none;
    }
    .dock status-mark {
      --mark: 20px;
    }
    .dock b {
      display: block;
      font: 600 1.0625rem/1.2 var(--serif);
      color: var(--ink);
    }
    .dock span {
      font-size: var(--t-small);
      color: var(--ink-2);
      min-width: 0;
    }
    .dock i {
      font-style: normal;
      display: -webkit-box;
      -webkit-box-orient: vertical;
      -webkit-line-clamp: 2;
      overflow: hidden;
    }
  }
  @media print {
    nav,
    .tools,
    .dock,
    .notice,
    .skip {
      display: none;
    }
    .top,
    main {
      padding: 0;
    }
    main {
      max-width: none;
    }
    /* the tube and the answer are the sheet's first page */
    .bench {
      display: flex;
      flex-direction: column;
      gap: 0;
      align-items: stretch;
    }
    .bench > * {
      margin-top: 5mm;
    }
    answer-place {
      order: 1;
    }
    socket-place {
      order: 3;
      break-inside: avoid;
    }
    /* a grid would go to the next page as a whole */
    .figs {
      order: 2;
      display: flex;
      flex-wrap: wrap;
      gap: 16px 34px;
    }
    .figs > * {
      width: calc(50% - 17px);
      break-inside: avoid;
    }
    .paper {
      display: block;
      color: var(--ink-3);
      font-size: var(--t-tiny);
      margin-top: 4mm;
    }
  }
`;
