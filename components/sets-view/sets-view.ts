import { LitElement, css, html, nothing } from 'lit';
import { customElement, property, query, state } from 'lit/decorators.js';
import { base } from '../look/base.styles.ts';
import { form } from '../look/form.styles.ts';

export interface SetLine {
  readonly id: string;
  readonly title: string;
  /** When it was changed last, in words. */
  readonly when: string;
}

/**
 * The sets that are kept here, the examples, and files in and out.
 *
 * @property sets, current what is kept, and which is on the desk
 * @property examples the scenarios that come with the program
 * @property socket, stages what a new set's socket may be
 * @property refused a file that could not be read: its name and everything found in it
 * @fires set-open, set-copy, set-remove `{id}`, example-open `{id}`, file-import `{name, text}`, file-export, set-new `{stage?}`, set-rename `{title}`
 */
@customElement('sets-view')
export class SetsView extends LitElement {
  static override styles = [
    base,
    form,
    css`
      li {
        display: flex;
        flex-wrap: wrap;
        gap: 2px 14px;
        align-items: baseline;
        border-bottom: 1px solid var(--rule);
        padding: 6px 0;
      }
      li > span:first-child {
        flex: 1;
        min-width: 16em;
        overflow-wrap: anywhere;
      }
      .new {
        display: flex;
        flex-wrap: wrap;
        gap: 6px 16px;
        align-items: center;
        margin-top: 18px;
        border-top: 1px solid var(--rule);
        padding-top: 12px;
      }
      .new select {
        width: auto;
        flex: 0 1 22em;
      }
      .new .note {
        flex-basis: 100%;
        margin: 0;
      }
      .now {
        font-weight: 650;
      }
      .note,
      details {
        margin-top: 12px;
      }
      li .note {
        margin: 0;
      }
      textarea {
        width: 100%;
        min-height: 7em;
        border: 1px solid var(--edge);
        padding: 6px 8px;
        font: var(--t-small) / 1.4 monospace;
        margin-top: 8px;
      }
    `,
  ];

  @property({ attribute: false }) sets: readonly SetLine[] = [];
  @property() current = '';
  @property() heading = '';
  @property({ attribute: false }) examples: readonly {
    readonly id: string;
    readonly title: string;
  }[] = [];
  @property({ attribute: false }) refused:
    | { readonly name: string; readonly text: string }
    | undefined;

  /** The socket on the desk, and what a new set may have in its place. */
  @property() socket = '';
  @property({ attribute: false }) stages: readonly {
    readonly id: string;
    readonly title: string;
  }[] = [];

  /** The set that was asked to be deleted: asked once more, since there is no way back. */
  @state() private doomed = '';
  @query('#stage') private stage!: HTMLSelectElement;
  @query('input[type=file]') private file!: HTMLInputElement;
  @query('textarea') private pasted!: HTMLTextAreaElement;

  override render() {
    return html`<section aria-labelledby="h">
      <h2 id="h">Sets and files</h2>
      <p class="lead">
        A set is one scenario: an instrument, the sockets of a set, and the tubes read for it. It is
        kept in this browser and as a file; the file is the one that the command line reads.
      </p>
      <div class="row name">
        <label for="title">Name of the set on the desk</label>
        <input
          class="field"
          id="title"
          value=${this.heading}
          .value=${this.heading}
          autocomplete="off"
          @change=${(event: Event) => this.tell('set-rename', { title: (event.target as HTMLInputElement).value })}
        />
      </div>
      <div class="buttons">
        <button class="act" type="button" @click=${() => this.tell('file-export')}>
          Keep it as a file
        </button>
        <button class="act" type="button" @click=${() => this.file.click()}>Open a file</button>
        <input
          type="file"
          accept=".json,application/json"
          hidden
          aria-label="Scenario file"
          @change=${this.onFile}
        />
      </div>
      <div class="new">
        <label for="stage">A new set, with one socket</label>
        <select id="stage">
          <option value="" selected>as on the desk: ${this.socket}</option>
          ${this.stages.map(({ id, title }) => html`<option value=${id}>${title}</option>`)}
        </select>
        <button
          class="act"
          type="button"
          @click=${() => this.tell('set-new', this.stage.value === '' ? {} : { stage: this.stage.value })}
        >
          Start a new set
        </button>
        <p class="note">It begins with the instrument on the desk and a tube not yet read.</p>
      </div>
      ${
        this.refused === undefined
          ? nothing
          : html`<div class="wrong" role="alert">
              <b>${this.refused.name} was not taken. Nothing was changed.</b> ${this.refused.text}
            </div>`
      }
      <details>
        <summary>Paste a scenario</summary>
        <textarea aria-label="Text of a scenario" spellcheck="false"></textarea>
        <div class="buttons">
          <button
            class="act"
            type="button"
            @click=${() => this.tell('file-import', { name: 'The pasted text', text: this.pasted.value })}
          >
            Take it as a new set
          </button>
        </div>
      </details>
      <h3>Kept here</h3>
      ${
        this.sets.length === 0
          ? html`<p class="note">Nothing is kept yet.</p>`
          : html`<ul>
              ${this.sets.map(
                ({ id, title, when }) =>
                  html`<li>
                    <span class=${id === this.current ? 'now' : ''}
                      >${title}${id === this.current ? ' (on the desk)' : ''}</span
                    >
                    <span class="note">${when}</span>
                    <button
                      type="button"
                      aria-label="Open ${title}"
                      ?disabled=${id === this.current}
                      @click=${() => this.tell('set-open', { id })}
                    >
                      open
                    </button>
                    <button
                      type="button"
                      aria-label="Copy ${title}"
                      @click=${() => this.tell('set-copy', { id })}
                    >
                      copy
                    </button>
                    <button
                      type="button"
                      aria-label=${id === this.doomed ? `Delete ${title} for good` : `Delete ${title}`}
                      @click=${() => this.askedToDelete(id)}
                      @blur=${() => (this.doomed = '')}
                    >
                      ${id === this.doomed ? 'delete for good' : 'delete'}
                    </button>
                  </li>`,
              )}
            </ul>`
      }
      <h3>Examples, invented</h3>
      <ul>
        ${this.examples.map(
          ({ id, title }) =>
            html`<li>
              <span>${title}</span>
              <button
                type="button"
                aria-label="start from it: ${title}"
                @click=${() => this.tell('example-open', { id })}
              >
                start from it
              </button>
            </li>`,
        )}
      </ul>
    </section>`;
  }

  private askedToDelete(id: string): void {
    if (id === this.doomed) this.tell('set-remove', { id });
    this.doomed = id === this.doomed ? '' : id;
  }

  private readonly onFile = async (): Promise<void> => {
    const file = this.file.files?.[0];
    if (file === undefined) return;
    const text = await file.text();
    this.file.value = '';
    this.tell('file-import', { name: file.name, text });
  };

  private tell<T>(name: string, detail?: T): void {
    this.dispatchEvent(new CustomEvent(name, { detail, bubbles: true, composed: true }));
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'sets-view': SetsView;
  }
}
