/** The browser's promise not to clear this origin under pressure (Storage Standard). Old browsers cannot give it. */
type Manager = Partial<Pick<StorageManager, 'persist' | 'persisted'>>;

/** Whether the promise holds; false where it is unknown. */
export function isPersistent(): Promise<boolean> {
  return ask((manager) => manager.persisted?.());
}

/** Asks for the promise; false where it is refused or unknown. */
export function requestPersistence(): Promise<boolean> {
  return ask((manager) => manager.persist?.());
}

async function ask(question: (manager: Manager) => Promise<boolean> | undefined): Promise<boolean> {
  const page: { readonly navigator?: { readonly storage?: Manager } } = globalThis;
  const manager = page.navigator?.storage;
  if (manager === undefined) return false;
  try {
    return (await question(manager)) ?? false;
  } catch {
    // A browser that will not say has promised nothing.
    return false;
  }
}
