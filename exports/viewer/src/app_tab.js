// What this tab has open, kept so that a reload loses nothing. Each tab has an id of its own: a tab that was duplicated finds
// its id taken and gets copies of its variants, so that two tabs never disturb one another.

const KEY = 'planestock';
const ASKS = 8; // a page that is just being replaced needs a moment to let go of its id
const PAUSE = 60; // ms between asks

export class Tab {
  constructor(kept) {
    this.id = kept.id ?? crypto.randomUUID();
    this.variants = kept.variants ?? []; // what each variant has to keep
    this.active = kept.active ?? 0;
    this.linked = kept.linked ?? true;
    this.open = kept.open ?? null; // groups of the form that are unfolded
    this.isCopy = false;
  }

  /** Takes up what this tab had open, or what the tab had that it was duplicated from. */
  static async claimed() {
    const tab = new Tab(read());
    if (await held(tab.id)) return tab;
    tab.id = crypto.randomUUID();
    tab.isCopy = true;
    await held(tab.id);
    return tab;
  }

  keep() {
    const { id, variants, active, linked, open } = this;
    try {
      sessionStorage.setItem(KEY, JSON.stringify({ id, variants, active, linked, open }));
    } catch {
      // No room or not allowed: the server still has everything.
    }
  }
}

function read() {
  try {
    return JSON.parse(sessionStorage.getItem(KEY)) ?? {};
  } catch {
    return {};
  }
}

/** Holds the lock of a tab's id as long as the page lives; false where another tab has it. */
async function held(id) {
  if (!navigator.locks) return true;
  for (let ask = 0; ask < ASKS; ask += 1) {
    if (await taken(id)) return true;
    await new Promise((done) => { setTimeout(done, PAUSE); });
  }
  return false;
}

function taken(id) {
  return new Promise((told) => {
    navigator.locks.request(`${KEY}-${id}`, { ifAvailable: true }, (lock) => {
      told(lock !== null);
      return lock === null ? null : new Promise(() => {});
    });
  });
}
