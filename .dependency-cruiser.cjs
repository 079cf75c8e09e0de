/**
 * Who may import whom. Rooms are divided by where code runs, and inside core by musical idea; an edge that is not
 * listed here is an error. Imports of types count.
 */

/** Every room: the rooms and the packages it may import besides itself. `main.ts` may import everything. */
const rooms = {
  core: { rooms: [], packages: ['fft.js'] },
  protocol: { rooms: ['core'], packages: [] },
  ports: { rooms: ['core'], packages: [] },
  worklet: { rooms: ['core', 'protocol'], packages: [] },
  workers: { rooms: ['core', 'protocol'], packages: [] },
  sound: { rooms: ['core', 'protocol', 'ports'], packages: [] },
  storage: { rooms: ['core', 'ports'], packages: ['idb', 'valibot'] },
  rehearsal: { rooms: ['core', 'ports'], packages: [] },
  ui: { rooms: ['core', 'rehearsal'], packages: ['lit'] },
};

/** Folders of core in order: each may import itself and what stands on an earlier line. */
const coreOrder = [
  ['units', 'result'],
  ['meter', 'limiter'],
  ['loop', 'listen'],
  ['seam', 'round-trip', 'watch'],
  ['song'],
  ['history', 'transport', 'program'],
  ['chart', 'render'],
];

const either = (names) => `(?:${names.join('|')})`;

const roomRules = Object.entries(rooms).map(([room, may]) => ({
  name: `room-${room}`,
  comment: `${room} may import ${[...may.rooms, ...may.packages].join(', ') || 'nothing'} and itself.`,
  severity: 'error',
  from: { path: `^src/${room}/` },
  to: {
    pathNot: [
      `^src/${either([room, ...may.rooms])}/`,
      ...(may.packages.length > 0 ? [`(?:^|/)node_modules/${either(may.packages)}/`] : []),
    ],
  },
}));

const coreRules = coreOrder.flatMap((folders, line) =>
  folders.map((folder) => {
    const allowed = [folder, ...coreOrder.slice(0, line).flat()];
    return {
      name: `core-order-${folder}`,
      comment: `core/${folder} may import ${allowed.slice(1).join(', ') || 'nothing'} and itself.`,
      severity: 'error',
      from: { path: `^src/core/${folder}/` },
      to: { path: '^src/core/', pathNot: `^src/core/${either(allowed)}/` },
    };
  }),
);

module.exports = {
  forbidden: [
    ...roomRules,
    ...coreRules,
    {
      name: 'known-place',
      comment:
        'A source file lies in a room that this table knows; in core, in a folder that has its place in the order.',
      severity: 'error',
      from: { path: '^src/', pathNot: [`^src/${either(Object.keys(rooms))}/`, '^src/main\\.ts$'] },
      to: {},
    },
    {
      name: 'known-core-folder',
      comment: 'A new folder of core gets its place in the order first.',
      severity: 'error',
      from: { path: '^src/core/', pathNot: `^src/core/${either(coreOrder.flat())}/` },
      to: {},
    },
    {
      name: 'main-imports-the-program',
      comment: 'The front door imports rooms and packages, not tests or scripts.',
      severity: 'error',
      from: { path: '^src/main\\.ts$' },
      to: { pathNot: ['^src/', '(?:^|/)node_modules/'] },
    },
    {
      name: 'elements-know-only-their-properties',
      comment: 'Elements draw what they are given; controllers join pages to the rehearsal.',
      severity: 'error',
      from: { path: '^src/ui/elements/' },
      to: { path: '^src/ui/(?:pages|controllers)/' },
    },
    {
      name: 'elements-see-the-rehearsal-as-types',
      comment: 'A property may have the type of a part of the snapshot, and no more than that.',
      severity: 'error',
      from: { path: '^src/ui/elements/' },
      to: { path: '^src/rehearsal/', dependencyTypesNot: ['type-only'] },
    },
    {
      name: 'controllers-serve-pages',
      comment: 'Pages use controllers, not the other way round.',
      severity: 'error',
      from: { path: '^src/ui/controllers/' },
      to: { path: '^src/ui/pages/' },
    },
    {
      name: 'no-cycles',
      severity: 'error',
      from: {},
      to: { circular: true },
    },
    {
      name: 'no-orphans',
      comment: 'Nothing imports it, and it imports nothing.',
      severity: 'error',
      from: { orphan: true, path: '^src/' },
      to: {},
    },
    {
      name: 'resolvable',
      severity: 'error',
      from: {},
      to: { couldNotResolve: true },
    },
    {
      name: 'ships-only-dependencies',
      comment: 'What ships is a dependency in package.json, not a tool of development.',
      severity: 'error',
      from: { path: '^src/' },
      to: { dependencyTypes: ['npm-dev', 'npm-no-pkg', 'npm-unknown', 'npm-optional'] },
    },
  ],
  options: {
    doNotFollow: { path: 'node_modules' },
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    enhancedResolveOptions: { exportsFields: ['exports'], conditionNames: ['import', 'browser', 'default'] },
  },
};
