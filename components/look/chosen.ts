/**
 * A list in which choosing does something at once. Arrow keys pass over the entries of a closed list and tell each one as
 * chosen; so by keyboard Enter chooses, and by pointer the choice itself.
 */
export class Chosen {
  private byKeys = false;

  /**
   * @param take gets the value that was chosen
   * @param onLeave whether a choice without Enter is taken or forgotten when the focus leaves
   */
  constructor(
    private readonly take: (value: string) => void,
    private readonly onLeave: 'take' | 'forget',
  ) {}

  /** For `ref()` on the list: all that it listens to. The same list again is listened to once. */
  readonly attach = (list: Element | undefined): void => {
    const select = list as HTMLSelectElement | undefined;
    select?.addEventListener('pointerdown', this.pointerdown);
    select?.addEventListener('keydown', this.keydown);
    select?.addEventListener('change', this.change);
    select?.addEventListener('blur', this.blur);
  };

  private readonly pointerdown = (): void => {
    this.byKeys = false;
  };

  private readonly keydown = (event: KeyboardEvent): void => {
    if (event.key !== 'Enter') {
      this.byKeys ||= event.key !== 'Tab';
      return;
    }
    event.preventDefault();
    this.finish(event.currentTarget as HTMLSelectElement);
  };

  private readonly change = (event: Event): void => {
    if (!this.byKeys) this.finish(event.currentTarget as HTMLSelectElement);
  };

  private readonly blur = (event: Event): void => {
    const select = event.currentTarget as HTMLSelectElement;
    if (this.byKeys && this.onLeave === 'take') this.finish(select);
    else this.restore(select);
    this.byKeys = false;
  };

  private finish(select: HTMLSelectElement): void {
    const { value } = select;
    this.restore(select);
    if (value !== select.value) this.take(value);
  }

  /** What is in force is shown again, until what was chosen is. */
  private restore(select: HTMLSelectElement): void {
    for (const option of select.options) option.selected = option.defaultSelected;
  }
}
