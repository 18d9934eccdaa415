// Written by `npm run fit:devices`.
import d12AT7 from './12AT7.json' with { type: 'json' };
import d12AU7 from './12AU7.json' with { type: 'json' };
import d12AX7 from './12AX7.json' with { type: 'json' };
import d12BH7A from './12BH7A.json' with { type: 'json' };
import d12BY7A from './12BY7A.json' with { type: 'json' };
import d50C5 from './50C5.json' with { type: 'json' };
import d50L6GT from './50L6GT.json' with { type: 'json' };
import d5751 from './5751.json' with { type: 'json' };
import d6AG5 from './6AG5.json' with { type: 'json' };
import d6AK5 from './6AK5.json' with { type: 'json' };
import d6AQ5 from './6AQ5.json' with { type: 'json' };
import d6AT6 from './6AT6.json' with { type: 'json' };
import d6AU6 from './6AU6.json' with { type: 'json' };
import d6AV6 from './6AV6.json' with { type: 'json' };
import d6BA6 from './6BA6.json' with { type: 'json' };
import d6BH6 from './6BH6.json' with { type: 'json' };
import d6BJ6 from './6BJ6.json' with { type: 'json' };
import d6BQ5 from './6BQ5.json' with { type: 'json' };
import d6C4 from './6C4.json' with { type: 'json' };
import d6CB6 from './6CB6.json' with { type: 'json' };
import d6CG7 from './6CG7.json' with { type: 'json' };
import d6DJ8 from './6DJ8.json' with { type: 'json' };
import d6F6 from './6F6.json' with { type: 'json' };
import d6J5 from './6J5.json' with { type: 'json' };
import d6J6 from './6J6.json' with { type: 'json' };
import d6K6GT from './6K6GT.json' with { type: 'json' };
import d6L6GC from './6L6GC.json' with { type: 'json' };
import d6SJ7 from './6SJ7.json' with { type: 'json' };
import d6SK7 from './6SK7.json' with { type: 'json' };
import d6SL7GT from './6SL7GT.json' with { type: 'json' };
import d6SN7GT from './6SN7GT.json' with { type: 'json' };
import d6SQ7 from './6SQ7.json' with { type: 'json' };
import d6U8A from './6U8A.json' with { type: 'json' };
import d6V6GT from './6V6GT.json' with { type: 'json' };
import dEF86 from './EF86.json' with { type: 'json' };
import dEF89 from './EF89.json' with { type: 'json' };
import dEL34 from './EL34.json' with { type: 'json' };

/** Every device file of the project, unread: `catalogue.ts` checks and serves them. */
export const deviceFiles: readonly unknown[] = [
  d12AT7,
  d12AU7,
  d12AX7,
  d12BH7A,
  d12BY7A,
  d50C5,
  d50L6GT,
  d5751,
  d6AG5,
  d6AK5,
  d6AQ5,
  d6AT6,
  d6AU6,
  d6AV6,
  d6BA6,
  d6BH6,
  d6BJ6,
  d6BQ5,
  d6C4,
  d6CB6,
  d6CG7,
  d6DJ8,
  d6F6,
  d6J5,
  d6J6,
  d6K6GT,
  d6L6GC,
  d6SJ7,
  d6SK7,
  d6SL7GT,
  d6SN7GT,
  d6SQ7,
  d6U8A,
  d6V6GT,
  dEF86,
  dEF89,
  dEL34,
];
