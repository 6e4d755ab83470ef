import { css } from 'lit';

/** Picture and list side by side on a desk; on a phone the picture stays in sight above the list. */
export const measuredStyle = css`
  .picture {
    background: var(--paper);
    position: sticky;
    top: 3.4rem;
    z-index: 1;
    padding: 0.25rem 0 0.25rem;
    --picture-height: 42vh;
  }
  section {
    --covered-top: calc(42vh + 8.4rem);
    min-width: 0;
  }
  .hidden-parts li {
    margin-bottom: 0.4rem;
  }
  @media (min-width: 60rem) {
    .split {
      align-items: start;
      display: grid;
      gap: 2rem;
      grid-template-columns: minmax(0, 3fr) minmax(20rem, 2fr);
    }
    .picture {
      --picture-height: min(68vh, 44rem);
    }
    section {
      --covered-top: 4.4rem;
    }
  }
  @media (max-height: 34rem) {
    .picture {
      --picture-height: 85vh;
      position: static;
    }
  }
`;
