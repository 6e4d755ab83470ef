import type { Stock } from '../../server/contract/stock.js';
import type { LengthStyle } from '../../server/units/format-length.js';

const key = 'gapwright-length-style';

/** The length style of the last visit on this device, or null. Storage may be switched off: then nothing is kept. */
export function rememberedLengthStyle(): LengthStyle | null {
  try {
    const kept = JSON.parse(localStorage.getItem(key) ?? 'null') as LengthStyle | null;
    const known = kept && ['in', 'mm'].includes(kept.unit) && [16, 32, 64].includes(kept.denominator);
    return known ? kept : null;
  } catch {
    return null;
  }
}

export function rememberLengthStyle(style: LengthStyle): void {
  try {
    localStorage.setItem(key, JSON.stringify(style));
  } catch {
    // Private windows refuse; the switch then lasts as long as the page.
  }
}

const stockKey = 'gapwright-stock';

/** The stock list last used on this device, offered for the next table; null when there is none. */
export function rememberedStock(): Stock | null {
  try {
    const kept = JSON.parse(localStorage.getItem(stockKey) ?? 'null') as Stock | null;
    return kept && Array.isArray(kept.donors) && Array.isArray(kept.straights) ? kept : null;
  } catch {
    return null;
  }
}

export function rememberStock(stock: Stock): void {
  if (stock.donors.length === 0 && stock.straights.length === 0) return;
  try {
    localStorage.setItem(stockKey, JSON.stringify(stock));
  } catch {
    // As above.
  }
}
