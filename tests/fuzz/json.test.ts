import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { noCorrections } from '../../server/contract/corrections.js';
import { planSchema } from '../../server/contract/plan.js';
import { type Problem, problemText } from '../../server/contract/problems.js';
import { noStock } from '../../server/contract/stock.js';
import { noWishes } from '../../server/contract/wishes.js';
import { parseReport, parseStock, parseWishes } from '../../server/planner/parse-inputs.js';
import { planFillers } from '../../server/planner/plan-fillers.js';
import { parseTable } from '../../server/projects/table-document.js';
import { parseTrackProfile } from '../../server/scene/parse-track-profile.js';
import { tallTrack } from '../../server/scene/track-profile.js';
import { ovalReport } from '../support/bench-plans.js';
import { bendNumbers, mutateJson } from '../support/mutate-json.js';
import { seededRandom } from '../support/seeded-random.js';
import { type ServerUnderTest, scriptedWorker, serverUnderTest } from '../support/server-under-test.js';

/** A few in `npm test`; `npm run fuzz` asks for many. */
const count = Number(process.env['FUZZ'] ?? 250);
const seed = Number(process.env['SEED'] ?? 1);

let server: ServerUnderTest;
beforeAll(async () => {
  server = await serverUnderTest({ workerPath: scriptedWorker });
});
afterAll(() => server.close());

const report = ovalReport([50.8, 50.8]);
const wishes = {
  ...noWishes,
  clearance: [{ side: 'A', atLeastMm: 76.2, fromMm: 0, toMm: 900 }],
  keepFree: [{ name: 'tower', centre: [400, 300], widthMm: 90, depthMm: 90, angleRad: 0, marginMm: 5 }],
  stay: [{ run: 'R1', pieces: [0] }],
  gapReadings: [{ joint: 'J1', at: [900, 180], lengthMm: 52 }],
};
const corrections = {
  ...noCorrections,
  list: [
    {
      id: 'c1',
      photo: 'photo-0001',
      kind: 'open-gap',
      ends: [
        [100, 200],
        [140, 200],
      ],
    },
    {
      id: 'c2',
      photo: 'photo-0001',
      kind: 'track-here',
      line: [
        [10, 20],
        [30, 40],
        [50, 60],
      ],
    },
    {
      id: 'c3',
      photo: 'photo-0001',
      kind: 'table-outline',
      corners: [1, 2, 3].map((i) => ({ at: [i, i * i], set: true })),
    },
  ],
};
const stock = { ...noStock, straights: [{ lengthMm: 254, count: 4 }], donors: [{ id: 'd1', lengthMm: 254 }] };

/** A problem must have words; words that fail on its data are a fault too. */
function told(problem: Problem): string {
  const { sentence, nextStep } = problemText(problem);
  expect(sentence.length).toBeGreaterThan(5);
  expect(nextStep.length).toBeGreaterThan(5);
  return problem.code;
}

async function each(
  what: string,
  work: (random: () => number) => Promise<string> | string,
): Promise<Record<string, number>> {
  const outcomes: Record<string, number> = {};
  for (let i = 0; i < count; i++) {
    try {
      const outcome = await work(seededRandom(seed * 1_000_003 + i));
      outcomes[outcome] = (outcomes[outcome] ?? 0) + 1;
    } catch (error) {
      throw new Error(`${what}, case ${i} of seed ${seed}: ${String(error)}`, { cause: error });
    }
  }
  expect(({} as { polluted?: boolean }).polluted).toBeUndefined();
  console.log(`${what}:`, JSON.stringify(outcomes));
  expect(Object.keys(outcomes).length).toBeGreaterThan(1);
  return outcomes;
}

describe(`JSON that went wrong (${count} of each, seed ${seed})`, { timeout: 60_000 + count * 300 }, () => {
  it('reports, wishes and stock are taken or refused with the field named', async () => {
    await each('inputs', (random) => {
      const worse = random() < 0.5 ? bendNumbers : mutateJson;
      const which = Math.floor(random() * 3);
      const parsed = parseReport(which === 0 ? worse(report, random) : report);
      if (!parsed.ok) return told(parsed.problem);
      const wished = parseWishes(which === 1 ? worse(wishes, random) : wishes, parsed.value);
      if (!wished.ok) return told(wished.problem);
      const stocked = parseStock(which === 2 ? worse(stock, random) : stock);
      return stocked.ok ? 'taken' : told(stocked.problem);
    });
  });

  it('what was taken can be planned with, and the plan is one', async () => {
    const many = Math.ceil(count / 10);
    let planned = 0;
    for (let i = 0; i < many; i++) {
      const random = seededRandom(seed * 7_000_003 + i);
      const parsed = parseReport(bendNumbers(report, random));
      if (!parsed.ok) continue;
      const wished = parseWishes(bendNumbers(wishes, random), parsed.value);
      const stocked = parseStock(bendNumbers(stock, random));
      if (!wished.ok || !stocked.ok) continue;
      const options = { timeLimitMs: 300, alternatives: 0 };
      const plan = await planFillers(parsed.value, wished.value, stocked.value, options).catch((error: unknown) => {
        throw new Error(`plan ${i} of seed ${seed}: ${String(error)}`, { cause: error });
      });
      if (!plan.ok) told(plan.problem);
      else {
        planned += 1;
        const back = planSchema.safeParse(JSON.parse(JSON.stringify(plan.value)));
        expect(back.error?.issues, `plan ${i} of seed ${seed}`).toBeUndefined();
      }
    }
    expect(planned).toBeGreaterThan(0);
  });

  it('stored tables are opened or called damaged', async () => {
    const table = await server.newTable('Fuzz');
    await each('table.json', (random) => {
      const text = JSON.stringify(mutateJson({ ...table, partVersions: { name: 2 } }, random));
      const cut = random() < 0.2 ? text.slice(0, Math.floor(random() * text.length)) : text;
      const parsed = parseTable(table.id, cut);
      return parsed.ok ? 'opened' : told(parsed.problem);
    });
  });

  it('track profiles are taken or refused with the field named', async () => {
    await each('track profile', (random) => {
      const parsed = parseTrackProfile(mutateJson(tallTrack, random));
      return parsed.ok ? 'taken' : told(parsed.problem);
    });
  });

  it('requests are answered with less than 500, and the table stays whole', async () => {
    let table = await server.newTable('Fuzz');
    const { id } = table;
    await each('requests', async (random) => {
      const { settings, name } = table;
      const body = mutateJson({ version: table.version, name, settings, wishes, stock, corrections }, random);
      const text = JSON.stringify(body) ?? '';
      const sent = random() < 0.1 ? text.slice(0, Math.floor(random() * text.length)) : text;
      const answer = await server.ask('PATCH', `/api/tables/${id}`, sent);
      expect(answer.status, sent).toBeLessThan(500);
      const now = await server.store.read(id);
      if (!now.ok) throw new Error(`${now.problem.code} after ${sent}`);
      table = now.value;
      return String(answer.status);
    });
  });

  it('addresses are answered with less than 500', async () => {
    const words = [
      '..',
      '.',
      '%2e%2e',
      '%00',
      '%ff',
      'api',
      'tables',
      'photos',
      'view',
      'x'.repeat(5000),
      '%F0%9F%9A%82',
      '\\',
      '*',
      '?',
      '#',
      ';',
      'cut-sheet.pdf',
      '__proto__',
    ];
    await each('addresses', async (random) => {
      const path = Array.from(
        { length: 1 + Math.floor(random() * 7) },
        () => words[Math.floor(random() * words.length)],
      ).join('/');
      const method = ['GET', 'POST', 'PUT', 'PATCH', 'DELETE', 'HEAD', 'OPTIONS'][Math.floor(random() * 7)] as string;
      const answer = await server.app.request(`/${random() < 0.7 ? 'api/tables/' : ''}${path}`, { method });
      expect(answer.status, `${method} ${path}`).toBeLessThan(500);
      return String(answer.status);
    });
  });
});
