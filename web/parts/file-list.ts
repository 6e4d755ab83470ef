import { css, html, LitElement } from 'lit';
import { customElement, property } from 'lit/decorators.js';
import { type Paper, type SheetName, sheetUrl } from '../api/tables-api.js';
import { sharedStyle } from './shared-style.js';

/** One paper or file that can be had. */
export interface OfferedFile {
  readonly name: SheetName;
  /** What stands on its button. */
  readonly label: string;
  readonly what: string;
  readonly main?: boolean;
}

/** Papers and files to download. */
@customElement('gw-file-list')
export class FileList extends LitElement {
  @property() table = '';
  @property() paper: Paper = 'letter';
  @property() unit: 'in' | 'mm' = 'in';
  @property({ attribute: false }) files: readonly OfferedFile[] = [];

  static override styles = [
    sharedStyle,
    css`
      li {
        align-items: center;
        border-top: 1px solid var(--line);
        display: flex;
        gap: 1rem;
        padding: 0.5rem 0;
      }
      a {
        flex: none;
        min-width: 7rem;
      }
      @media (max-width: 30rem) {
        li {
          align-items: start;
          flex-direction: column;
          gap: 0.25rem;
        }
      }
    `,
  ];

  override render() {
    return html`<ul class="plain">
      ${this.files.map(
        ({ name, label, what, main }) => html`<li>
          <a class="button ${main ? 'main' : ''}" download href=${sheetUrl(this.table, name, this.paper, this.unit)}>${label}</a><span>${what}</span>
        </li>`,
      )}
    </ul>`;
  }
}

declare global {
  interface HTMLElementTagNameMap {
    'gw-file-list': FileList;
  }
}
