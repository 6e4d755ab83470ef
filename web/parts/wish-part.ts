import { LitElement } from 'lit';
import { property } from 'lit/decorators.js';
import type { Report } from '../../server/contract/report.js';
import type { Wishes } from '../../server/contract/wishes.js';
import { defaultLengthStyle, type LengthStyle } from '../../server/units/format-length.js';

/** What every element has that edits a part of the wishes. Fires `wishes` with a partial Wishes. */
export abstract class WishPart extends LitElement {
  @property({ attribute: false }) report: Report | null = null;
  @property({ attribute: false }) wishes: Wishes | null = null;
  @property({ attribute: false }) lengthStyle: LengthStyle = defaultLengthStyle;

  protected wish(change: Partial<Wishes>): void {
    this.dispatchEvent(new CustomEvent<Partial<Wishes>>('wishes', { detail: change }));
  }
}
