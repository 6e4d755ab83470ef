import { css } from 'lit';

/** Style that every element shares: text, buttons, fields, lists. Colours and fonts are the tokens of page.css. */
export const sharedStyle = css`
  :host {
    display: block;
  }
  :host([hidden]) {
    display: none;
  }
  * {
    box-sizing: border-box;
  }
  h1,
  h2,
  h3 {
    font-family: var(--hand);
    font-weight: 600;
    line-height: 1.2;
    margin: 0 0 0.5rem;
  }
  h1 {
    font-size: 1.75rem;
  }
  h1:focus {
    outline: none;
  }
  h2 {
    font-size: 1.25rem;
    margin-top: 1.75rem;
  }
  h3 {
    font-size: 1.05rem;
  }
  p {
    margin: 0 0 0.75rem;
    max-width: 62ch;
  }
  a {
    color: var(--accent);
    text-underline-offset: 0.2em;
  }
  ul.plain,
  ol.plain {
    list-style: none;
    margin: 0;
    padding: 0;
  }
  .quiet {
    color: var(--pencil);
    font-size: 0.95rem;
  }
  .meaning {
    color: var(--pencil);
  }
  button,
  a.button {
    align-items: center;
    background: var(--sheet);
    border: 2px solid var(--ink);
    border-radius: 3px;
    color: var(--ink);
    cursor: pointer;
    display: inline-flex;
    font: inherit;
    font-weight: 600;
    gap: 0.4rem;
    justify-content: center;
    min-height: 3rem;
    min-width: 3rem;
    padding: 0.4rem 1rem;
    text-decoration: none;
  }
  button.main,
  a.button.main {
    background: var(--accent);
    border-color: var(--accent);
    color: var(--on-accent);
  }
  button.small {
    min-height: 2.75rem;
    padding: 0.2rem 0.7rem;
  }
  button[disabled] {
    border-color: var(--line);
    border-style: dashed;
    color: var(--pencil);
    cursor: default;
    background: transparent;
  }
  :focus-visible {
    outline: 3px solid var(--accent);
    outline-offset: 2px;
  }
  input,
  select {
    background: var(--sheet);
    border: 2px solid var(--line);
    border-radius: 3px;
    color: var(--ink);
    font: inherit;
    min-height: 3rem;
    padding: 0.3rem 0.6rem;
    max-width: 100%;
  }
  input[type='file'] {
    padding: 0.6rem;
  }
  input[type='checkbox'],
  input[type='radio'] {
    accent-color: var(--accent);
    flex: none;
    height: 1.5rem;
    min-height: 0;
    width: 1.5rem;
    margin: 0;
  }
  label.field {
    display: flex;
    flex-direction: column;
    gap: 0.2rem;
  }
  label.field > select {
    align-self: start;
  }
  label.tick {
    align-items: center;
    display: flex;
    gap: 0.6rem;
    min-height: 2.75rem;
  }
  fieldset {
    border: 0;
    border-top: 2px solid var(--line);
    margin: 0 0 1rem;
    padding: 0.5rem 0 0;
    min-width: 0;
  }
  legend {
    font-family: var(--hand);
    font-size: 1.1rem;
    font-weight: 600;
    padding: 0 0.75rem 0 0;
  }
  .row {
    align-items: end;
    display: flex;
    flex-wrap: wrap;
    gap: 0.75rem;
  }
  button + p,
  .row + p {
    margin-top: 0.5rem;
  }
  .aside {
    border-left: 4px solid var(--line);
    margin: 0 0 1rem;
    padding: 0.25rem 0 0.25rem 0.9rem;
  }
  .number {
    font-variant-numeric: tabular-nums;
    white-space: nowrap;
  }
  summary {
    cursor: pointer;
    font-weight: 600;
    min-height: 2.75rem;
    padding: 0.6rem 0;
  }
  .only-read {
    clip-path: inset(50%);
    height: 1px;
    overflow: hidden;
    position: absolute;
    white-space: nowrap;
    width: 1px;
  }
`;

/** An entry that cannot be taken, and the sentence below it that says why. */
export const wrongEntryStyle = css`
  input[aria-invalid='true'] {
    border-color: var(--accent);
    border-width: 3px;
  }
  .wrong {
    color: var(--accent);
    font-weight: 600;
    margin: 0.2rem 0 0;
  }
`;
