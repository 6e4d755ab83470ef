// The import rules of the house, checked by `npm run check`. A rule's comment says what to do when it is broken.
// tests/architecture/import-rules.test.ts shows for each rule that it can fail.

/** The layers of server/, lowest first: a file imports from its own folder and from lower ones only. */
export const layers = [
  'base',
  'units',
  'geometry',
  'contract',
  'linalg',
  'images',
  'scene',
  'opencv',
  'stages',
  'pipeline',
  'planner',
  'exports',
  'projects',
  'jobs',
  'http',
  'commands',
];

const layer = (name) => `^server/${name}/`;
const anyOf = (names) => `^server/(${names.join('|')})/`;

/** One rule a layer: everything above it is out of its reach. */
const upward = layers.slice(0, -1).map((name, i) => ({
  name: `${name}-imports-downwards`,
  comment: `server/${name} may use only ${[...layers.slice(0, i), 'itself'].join(', ')}. Move what you need into a lower folder, or hand it in from above.`,
  severity: 'error',
  from: { path: layer(name) },
  to: { path: `${anyOf(layers.slice(i + 1))}|^server/(cli|main)\\.ts$` },
}));

const noPictures = ['images', 'scene', 'opencv', 'stages', 'pipeline'];

/** @type {import('dependency-cruiser').IForbiddenRuleType[]} */
const rules = [
  ...upward,
  {
    name: 'stages-meet-in-scene',
    comment:
      'A stage never imports another stage. What one hands to the next is a type in server/scene; server/pipeline puts them in a row.',
    severity: 'error',
    from: { path: '^server/stages/([^/]+)/' },
    to: { path: '^server/stages/', pathNot: '^server/stages/$1/' },
  },
  {
    name: 'stages-touch-no-files',
    comment: 'Stages are pure: bytes come in as an argument. Read and write files in projects, jobs or commands.',
    severity: 'error',
    from: { path: '^server/(stages|pipeline|planner|scene|images|linalg|geometry|contract|units|base)/' },
    to: { path: '^(node:)?(fs|fs/promises|http|https|net|child_process)$', dependencyTypes: ['core'] },
  },
  {
    name: 'planner-sees-no-pictures',
    comment: 'The planner reads the report alone (server/contract). Put what it lacks into the report.',
    severity: 'error',
    from: { path: layer('planner') },
    to: { path: anyOf(noPictures) },
  },
  {
    name: 'exports-see-no-pictures',
    comment: 'Exports write what the plan and the report say (server/contract). Put what is lacking there.',
    severity: 'error',
    from: { path: layer('exports') },
    to: { path: anyOf([...noPictures, 'planner']) },
  },
  {
    name: 'opencv-behind-its-folder',
    comment: 'Only server/opencv imports opencv-wasm: add a typed function there that takes Rasters and gives Rasters.',
    severity: 'error',
    from: { pathNot: layer('opencv') },
    to: { path: '(^|/)opencv-wasm(/|$)' },
  },
  {
    name: 'no-vision-on-the-server-thread',
    comment:
      'server/http, projects, jobs/queue and main.ts must not reach server/opencv, not even through others: it belongs into the worker thread (server/jobs/worker.ts).',
    severity: 'error',
    from: { path: '^server/(http/|projects/|jobs/(?!worker)|main\\.ts$)' },
    to: { path: layer('opencv'), reachable: true },
  },
  {
    name: 'page-uses-contract-units-geometry',
    comment:
      'The page may import server/contract, server/units, server/geometry and server/base, nothing else of the server. Ask the server over HTTP instead.',
    severity: 'error',
    from: { path: '^web/' },
    to: { path: '^server/', pathNot: '^server/(contract|units|geometry|base)/' },
  },
  {
    name: 'server-imports-no-page',
    comment: 'The server never imports from web/. Put what both need into server/contract.',
    severity: 'error',
    from: { path: '^server/' },
    to: { path: '^web/' },
  },
  {
    name: 'product-imports-no-tests',
    comment: 'server/ and web/ never import from tests/ or samples/.',
    severity: 'error',
    from: { path: '^(server|web)/' },
    to: { path: '^(tests|samples)/' },
  },
  {
    name: 'packages-are-declared',
    comment:
      'Every imported package stands in package.json under dependencies; types-only packages under devDependencies.',
    severity: 'error',
    from: { path: '^(server|web)/' },
    to: {
      dependencyTypes: ['npm-no-pkg', 'npm-unknown', 'npm-dev'],
      dependencyTypesNot: ['type-only'],
      pathNot: '@types/',
    },
  },
  {
    name: 'imports-are-there',
    comment:
      'The imported file or package does not exist. Correct the path (with its .js suffix) or install the package.',
    severity: 'error',
    from: {},
    to: { couldNotResolve: true },
  },
  {
    name: 'no-circle',
    comment: 'Files import each other in a circle. Move what they share into a file of its own below both.',
    severity: 'error',
    from: {},
    // Types alone may look back: they are gone when the program runs.
    to: { circular: true, viaOnly: { dependencyTypesNot: ['type-only'] } },
  },
  {
    name: 'every-file-is-used',
    comment:
      'Nothing in the product imports this file and it is no entry: use it, move it to tests/support, or delete it.',
    severity: 'error',
    from: {},
    module: {
      path: '^(server|web)/',
      pathNot:
        '^server/kernels/|\\.d\\.ts$|^server/(cli|main|jobs/worker|pipeline/second-thread-program)\\.ts$|^server/planner/(count-stock|overhang)\\.ts$|^web/(main|vite\\.config)\\.ts$',
      numberOfDependentsLessThan: 1,
    },
  },
];

/** Rules and options for dependency-cruiser. */
export const importRules = rules;

/** Type imports count as imports. */
export const cruiseOptions = {
  ruleSet: { forbidden: rules },
  validate: true,
  tsPreCompilationDeps: true,
  doNotFollow: { path: 'node_modules' },
  exclude: { path: '\\.mjs$' },
  enhancedResolveOptions: {
    exportsFields: ['exports'],
    conditionNames: ['import', 'node', 'types', 'default'],
    mainFields: ['module', 'main', 'types', 'typings'],
  },
};
