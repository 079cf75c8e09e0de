import js from '@eslint/js';
import { defineConfig, globalIgnores } from 'eslint/config';
import lit from 'eslint-plugin-lit';
import litA11y from 'eslint-plugin-lit-a11y';
import wc from 'eslint-plugin-wc';
import tseslint from 'typescript-eslint';

/**
 * Restrictions by syntax. A later block replaces the whole list of an earlier one, so each block names all of its own.
 */
const everywhere = [
  {
    selector: 'ExportAllDeclaration',
    message: 'No barrels: import from the file that has it. The one exception is core/units.',
  },
  {
    selector:
      ':matches(ImportDeclaration, ExportNamedDeclaration, ImportExpression)' +
      '[source.value=/^\\./]:not([source.value=/\\.(js|mjs|css|json)$/], [source.value=/\\?worker&url$/])',
    message: 'Relative imports name the file: they end in .js.',
  },
];

const quantities = 'Frames|Seconds|Milliseconds|Beats|Bars|Bpm|SampleRate|Decibels|Gain';
const typescriptEverywhere = [
  ...everywhere,
  { selector: 'ExportDefaultDeclaration', message: 'Named exports only.' },
  {
    selector: `TSAsExpression > TSTypeReference[typeName.name=/^(${quantities})$/]`,
    message: 'Quantities are made by their constructors and conversions; the casts live in core/units.',
  },
];

/** The body of anything called `process`; what it calls is held by doc comments and by the heap check in tests/bench. */
const inProcess = [
  ':matches(MethodDefinition, PropertyDefinition, Property)[key.name="process"] > ' +
    ':matches(FunctionExpression, ArrowFunctionExpression) > BlockStatement',
  'FunctionDeclaration[id.name="process"] > BlockStatement',
];
const allocations = {
  NewExpression: 'an object',
  ArrayExpression: 'an array',
  ObjectExpression: 'an object',
  ArrowFunctionExpression: 'a function',
  FunctionExpression: 'a function',
  FunctionDeclaration: 'a function',
  ClassExpression: 'a class',
  SpreadElement: 'a copy',
  RestElement: 'a copy',
  TemplateLiteral: 'a string',
  'Literal[regex]': 'a regular expression',
};
const audioThread = inProcess.flatMap((body) => [
  ...Object.entries(allocations).map(([node, what]) => ({
    selector: `${body} ${node}`,
    message: `This allocates ${what} on the audio thread, in every block. Allocate in setup.`,
  })),
  { selector: `${body} ThrowStatement`, message: 'The audio thread does not throw: it counts, and reports once.' },
]);

const pureGlobals = [
  { name: 'Date', message: 'Time comes in through a port.' },
  { name: 'performance', message: 'Time comes in through a port.' },
];
const pureProperties = [{ object: 'Math', property: 'random', message: 'Results must be repeatable.' }];

export default defineConfig(
  globalIgnores(['dist/', '.cache/', 'test-results/']),
  { linterOptions: { reportUnusedDisableDirectives: 'error' } },
  js.configs.recommended,
  tseslint.configs.strictTypeChecked,
  {
    languageOptions: { parserOptions: { projectService: true, tsconfigRootDir: import.meta.dirname } },
    rules: {
      eqeqeq: ['error', 'always', { null: 'ignore' }],
      'no-console': 'error',
      // The compiler knows better, realm by realm.
      'no-undef': 'off',
      'no-warning-comments': ['error', { terms: ['todo', 'fixme', 'xxx'], location: 'anywhere' }],
      'no-restricted-syntax': ['error', ...everywhere],
      '@typescript-eslint/no-confusing-void-expression': [
        'error',
        { ignoreArrowShorthand: true, ignoreVoidReturningFunctions: true },
      ],
      '@typescript-eslint/no-unnecessary-condition': [
        'error',
        { allowConstantLoopConditions: 'only-allowed-literals' },
      ],
      // Takes quantities for something else than numbers.
      '@typescript-eslint/no-unsafe-unary-minus': 'off',
      '@typescript-eslint/no-unused-vars': ['error', { argsIgnorePattern: '^_' }],
      '@typescript-eslint/restrict-template-expressions': ['error', { allowNumber: true }],
      '@typescript-eslint/switch-exhaustiveness-check': [
        'error',
        { allowDefaultCaseForExhaustiveSwitch: true, considerDefaultExhaustiveForUnions: true },
      ],
    },
  },

  { files: ['src/**', 'tests/**'], rules: { 'no-restricted-syntax': ['error', ...typescriptEverywhere] } },
  { files: ['src/core/units/**'], rules: { 'no-restricted-syntax': 'off' } },
  {
    files: ['src/core/**', 'src/rehearsal/**'],
    rules: {
      'no-restricted-globals': ['error', ...pureGlobals],
      'no-restricted-properties': ['error', ...pureProperties],
    },
  },
  {
    files: ['src/core/render/**', 'src/worklet/**'],
    rules: { 'no-restricted-syntax': ['error', ...typescriptEverywhere, ...audioThread] },
  },

  {
    files: ['src/ui/**'],
    extends: [lit.configs['flat/recommended'], wc.configs['flat/recommended'], wc.configs['flat/best-practice']],
    plugins: { 'lit-a11y': litA11y },
    settings: { wc: { elementBaseClasses: ['LitElement'] } },
    rules: {
      ...litA11y.configs.recommended.rules,
      // LitElement has all of them.
      'wc/guard-super-call': 'off',
      // The content policy refuses style attributes.
      'lit/ban-attributes': ['error', 'style'],
      'lit/lifecycle-super': 'error',
      'lit/no-classfield-shadowing': 'error',
      'lit/no-legacy-imports': 'error',
      'lit/no-native-attributes': 'error',
      'lit/no-useless-template-literals': 'error',
      'lit/no-value-attribute': 'error',
      'lit/prefer-static-styles': 'error',
      'lit/quoted-expressions': 'error',
    },
  },

  {
    files: ['tests/**'],
    rules: {
      // Tests say what they know, and fail where it is wrong.
      '@typescript-eslint/no-non-null-assertion': 'off',
    },
  },
  { files: ['scripts/**'], rules: { 'no-console': 'off' } },
  // Their plugins come without types, and their tools want a default export.
  { files: ['*.js', '*.cjs'], extends: [tseslint.configs.disableTypeChecked] },
  { files: ['*.cjs'], languageOptions: { sourceType: 'commonjs' } },
);
