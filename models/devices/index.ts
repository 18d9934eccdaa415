// Written by `npm run fit:devices`.
import d12AT7 from './12AT7.json' with { type: 'json' };
import d12AU7 from './12AU7.json' with { type: 'json' };
import d12AX7 from './12AX7.json' with { type: 'json' };
import d50C5 from './50C5.json' with { type: 'json' };
import d6AQ5 from './6AQ5.json' with { type: 'json' };
import d6AU6 from './6AU6.json' with { type: 'json' };
import d6AV6 from './6AV6.json' with { type: 'json' };
import d6BA6 from './6BA6.json' with { type: 'json' };
import d6BQ5 from './6BQ5.json' with { type: 'json' };
import d6L6GC from './6L6GC.json' with { type: 'json' };
import d6SJ7 from './6SJ7.json' with { type: 'json' };
import d6SK7 from './6SK7.json' with { type: 'json' };
import d6SL7GT from './6SL7GT.json' with { type: 'json' };
import d6SN7GT from './6SN7GT.json' with { type: 'json' };
import d6V6GT from './6V6GT.json' with { type: 'json' };

/** Every device file of the project, unread: `catalogue.ts` checks and serves them. */
export const deviceFiles: readonly unknown[] = [
  d12AT7,
  d12AU7,
  d12AX7,
  d50C5,
  d6AQ5,
  d6AU6,
  d6AV6,
  d6BA6,
  d6BQ5,
  d6L6GC,
  d6SJ7,
  d6SK7,
  d6SL7GT,
  d6SN7GT,
  d6V6GT,
];
