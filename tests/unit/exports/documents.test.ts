import sharp from 'sharp';
import { describe, expect, it } from 'vitest';
import { reportSchema } from '../../../server/contract/report.js';
import {
  type DocumentSources,
  documentNames,
  makeDocument,
  mediaTypeOf,
  missingFor,
} from '../../../server/exports/documents.js';
import { gapPlan, gapReport, ovalReport } from '../../support/bench-plans.js';

const nothing: DocumentSources = {
  tableName: '',
  report: null,
  plan: null,
  reportAfter: null,
  planView: null,
  accessories: [],
};
const options = { paper: 'letter', style: { unit: 'in', denominator: 16 }, created: new Date(0) } as const;
/** First bytes of each kind of file. */
const starts: Record<string, string> = {
  pdf: '%PDF-1.',
  csv: '',
  svg: '<?xml',
  dxf: '0\nSECTION',
  png: '\u0089PNG',
  json: '{',
};

describe('documents of a table', () => {
  it('are all made from a whole table, each in its format', async () => {
    const picture = await sharp({ create: { width: 300, height: 160, channels: 3, background: '#888' } })
      .jpeg()
      .toBuffer();
    const view = {
      widthPx: 300,
      heightPx: 160,
      mmPerPx: 9,
      originInTable: [-60, 1290] as [number, number],
      heightMm: 17.5,
    };
    const sources = {
      ...nothing,
      report: gapReport([50.8]),
      plan: gapPlan([50.8]),
      reportAfter: ovalReport([0.4]),
      planView: { view, picture },
    };
    for (const name of documentNames) {
      expect(missingFor(name, sources)).toEqual([]);
      const bytes = Buffer.from(await makeDocument(name, sources, options));
      const ending = name.slice(name.lastIndexOf('.') + 1);
      expect(bytes.toString('latin1').trimStart().startsWith(starts[ending]), name).toBe(true);
      expect(mediaTypeOf(name)).toMatch(/^[a-z]+\/[a-z.+-]+/);
    }
  });

  it('name what is missing instead of being made from nothing', async () => {
    for (const name of documentNames) expect(missingFor(name, nothing).length).toBeGreaterThan(0);
    expect(missingFor('check-sheet.pdf', { ...nothing, plan: gapPlan([]) })).toEqual(['reportAfter']);
    await expect(makeDocument('report.csv', nothing, options)).rejects.toThrow();
  });

  it('hand the report on unchanged', async () => {
    const report = gapReport([50.8]);
    const bytes = await makeDocument('report.json', { ...nothing, report }, options);
    expect(reportSchema.parse(JSON.parse(new TextDecoder().decode(bytes)))).toEqual(report);
  });
});
