import { html, LitElement, nothing, type TemplateResult } from 'lit';
import { beforeEach, expect, test } from 'vitest';
import { KeptFocus } from '../../src/ui/kept-focus.js';

/** A button that may go, a place to rest, and something in its place that may come. */
class Held extends LitElement {
  first = true;
  second = false;
  /** Changes with every frame and takes nothing away. */
  level = 0;

  constructor() {
    super();
    new KeptFocus(this, () => this.named('second') ?? this.named('rest'));
  }

  named(id: string): HTMLElement | null {
    return this.renderRoot.querySelector<HTMLElement>(`#${id}`);
  }

  override render(): TemplateResult {
    return html`${this.first ? html`<button id="first">first</button>` : nothing}<span id="rest" tabindex="-1"
        >${this.level}</span
      >${this.second ? html`<button id="second">second</button>` : nothing}`;
  }
}
customElements.define('test-held', Held);

let held: Held;

beforeEach(async () => {
  held = new Held();
  document.body.replaceChildren(held, document.createElement('input'));
  await held.updateComplete;
});

async function after(change: Partial<Pick<Held, 'first' | 'second' | 'level'>>): Promise<string | null> {
  Object.assign(held, change);
  held.requestUpdate();
  await held.updateComplete;
  return held.shadowRoot?.activeElement?.id ?? null;
}

test('the focus goes to what stands in the place of what had it', async () => {
  held.named('first')?.focus();
  expect(await after({ first: false, second: true })).toBe('second');
});

test('it stays where nothing was taken away', async () => {
  held.named('first')?.focus();
  expect(await after({ level: 1 })).toBe('first');
  expect(await after({ second: true })).toBe('first');
});

test('it rests until there is something better', async () => {
  held.named('first')?.focus();
  expect(await after({ first: false })).toBe('rest');
  expect(await after({ level: 2 })).toBe('rest');
  expect(await after({ second: true })).toBe('second');
});

test('it is not taken from elsewhere', async () => {
  const elsewhere = document.querySelector('input')!;
  elsewhere.focus();
  await after({ first: false, second: true });
  expect(document.activeElement).toBe(elsewhere);
});

test('it is not taken where nothing had it', async () => {
  expect(await after({ first: false, second: true })).toBeNull();
  expect(document.activeElement).toBe(document.body);
});
