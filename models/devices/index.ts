// Written by `npm run fit:devices`.
import d12AT7 from './12AT7.json' with { type: 'json' };
import d12AU7 from './12AU7.json' with { type: 'json' };
import d12AV7 from './12AV7.json' with { type: 'json' };
import d12AX7 from './12AX7.json' with { type: 'json' };
import d12AY7 from './12AY7.json' with { type: 'json' };
import d12BH7A from './12BH7A.json' with { type: 'json' };
import d12BY7A from './12BY7A.json' with { type: 'json' };
import d12BZ7 from './12BZ7.json' with { type: 'json' };
import d1R5 from './1R5.json' with { type: 'json' };
import d1S5 from './1S5.json' with { type: 'json' };
import d1T4 from './1T4.json' with { type: 'json' };
import d1U4 from './1U4.json' with { type: 'json' };
import d2A3 from './2A3.json' with { type: 'json' };
import d30 from './30.json' with { type: 'json' };
import d35C5 from './35C5.json' with { type: 'json' };
import d35L6GT from './35L6GT.json' with { type: 'json' };
import d35W4 from './35W4.json' with { type: 'json' };
import d3V4 from './3V4.json' with { type: 'json' };
import d45 from './45.json' with { type: 'json' };
import d50C5 from './50C5.json' with { type: 'json' };
import d50L6GT from './50L6GT.json' with { type: 'json' };
import d5687 from './5687.json' with { type: 'json' };
import d5751 from './5751.json' with { type: 'json' };
import d5AR4 from './5AR4.json' with { type: 'json' };
import d5U4G from './5U4G.json' with { type: 'json' };
import d5U4GB from './5U4GB.json' with { type: 'json' };
import d5V4G from './5V4G.json' with { type: 'json' };
import d5Y3GT from './5Y3GT.json' with { type: 'json' };
import d6550 from './6550.json' with { type: 'json' };
import d6AC7 from './6AC7.json' with { type: 'json' };
import d6AG5 from './6AG5.json' with { type: 'json' };
import d6AG7 from './6AG7.json' with { type: 'json' };
import d6AH6 from './6AH6.json' with { type: 'json' };
import d6AK5 from './6AK5.json' with { type: 'json' };
import d6AK6 from './6AK6.json' with { type: 'json' };
import d6AL5 from './6AL5.json' with { type: 'json' };
import d6AN8A from './6AN8A.json' with { type: 'json' };
import d6AQ5 from './6AQ5.json' with { type: 'json' };
import d6AQ6 from './6AQ6.json' with { type: 'json' };
import d6AS7G from './6AS7G.json' with { type: 'json' };
import d6AT6 from './6AT6.json' with { type: 'json' };
import d6AU6 from './6AU6.json' with { type: 'json' };
import d6AV6 from './6AV6.json' with { type: 'json' };
import d6AW8A from './6AW8A.json' with { type: 'json' };
import d6AX4GT from './6AX4GT.json' with { type: 'json' };
import d6BA6 from './6BA6.json' with { type: 'json' };
import d6BA7 from './6BA7.json' with { type: 'json' };
import d6BC5 from './6BC5.json' with { type: 'json' };
import d6BD6 from './6BD6.json' with { type: 'json' };
import d6BE6 from './6BE6.json' with { type: 'json' };
import d6BF6 from './6BF6.json' with { type: 'json' };
import d6BH6 from './6BH6.json' with { type: 'json' };
import d6BJ6 from './6BJ6.json' with { type: 'json' };
import d6BK7B from './6BK7B.json' with { type: 'json' };
import d6BQ5 from './6BQ5.json' with { type: 'json' };
import d6BQ6GTB from './6BQ6GTB.json' with { type: 'json' };
import d6BQ7A from './6BQ7A.json' with { type: 'json' };
import d6BZ7 from './6BZ7.json' with { type: 'json' };
import d6C4 from './6C4.json' with { type: 'json' };
import d6C5 from './6C5.json' with { type: 'json' };
import d6CB6 from './6CB6.json' with { type: 'json' };
import d6CG7 from './6CG7.json' with { type: 'json' };
import d6CL6 from './6CL6.json' with { type: 'json' };
import d6DJ8 from './6DJ8.json' with { type: 'json' };
import d6DK6 from './6DK6.json' with { type: 'json' };
import d6EA8 from './6EA8.json' with { type: 'json' };
import d6F6 from './6F6.json' with { type: 'json' };
import d6GH8A from './6GH8A.json' with { type: 'json' };
import d6J5 from './6J5.json' with { type: 'json' };
import d6J6 from './6J6.json' with { type: 'json' };
import d6J7 from './6J7.json' with { type: 'json' };
import d6K6GT from './6K6GT.json' with { type: 'json' };
import d6K7 from './6K7.json' with { type: 'json' };
import d6L6GC from './6L6GC.json' with { type: 'json' };
import d6SA7 from './6SA7.json' with { type: 'json' };
import d6SC7 from './6SC7.json' with { type: 'json' };
import d6SF5 from './6SF5.json' with { type: 'json' };
import d6SG7 from './6SG7.json' with { type: 'json' };
import d6SH7 from './6SH7.json' with { type: 'json' };
import d6SJ7 from './6SJ7.json' with { type: 'json' };
import d6SK7 from './6SK7.json' with { type: 'json' };
import d6SL7GT from './6SL7GT.json' with { type: 'json' };
import d6SN7GT from './6SN7GT.json' with { type: 'json' };
import d6SQ7 from './6SQ7.json' with { type: 'json' };
import d6SR7 from './6SR7.json' with { type: 'json' };
import d6T8A from './6T8A.json' with { type: 'json' };
import d6U8A from './6U8A.json' with { type: 'json' };
import d6V6GT from './6V6GT.json' with { type: 'json' };
import d6W4GT from './6W4GT.json' with { type: 'json' };
import d6W6GT from './6W6GT.json' with { type: 'json' };
import d6X4 from './6X4.json' with { type: 'json' };
import d6X5GT from './6X5GT.json' with { type: 'json' };
import d6Y6G from './6Y6G.json' with { type: 'json' };
import d76 from './76.json' with { type: 'json' };
import d807 from './807.json' with { type: 'json' };
import dECC85 from './ECC85.json' with { type: 'json' };
import dECF80 from './ECF80.json' with { type: 'json' };
import dECL82 from './ECL82.json' with { type: 'json' };
import dECL86 from './ECL86.json' with { type: 'json' };
import dEF184 from './EF184.json' with { type: 'json' };
import dEF80 from './EF80.json' with { type: 'json' };
import dEF86 from './EF86.json' with { type: 'json' };
import dEF89 from './EF89.json' with { type: 'json' };
import dEF91 from './EF91.json' with { type: 'json' };
import dEL34 from './EL34.json' with { type: 'json' };
import dEL95 from './EL95.json' with { type: 'json' };
import dEZ81 from './EZ81.json' with { type: 'json' };
import dKT66 from './KT66.json' with { type: 'json' };
import dKT88 from './KT88.json' with { type: 'json' };

/** Every device file of the project, unread: `catalogue.ts` checks and serves them. */
export const deviceFiles: readonly unknown[] = [
  d12AT7,
  d12AU7,
  d12AV7,
  d12AX7,
  d12AY7,
  d12BH7A,
  d12BY7A,
  d12BZ7,
  d1R5,
  d1S5,
  d1T4,
  d1U4,
  d2A3,
  d30,
  d35C5,
  d35L6GT,
  d35W4,
  d3V4,
  d45,
  d50C5,
  d50L6GT,
  d5687,
  d5751,
  d5AR4,
  d5U4G,
  d5U4GB,
  d5V4G,
  d5Y3GT,
  d6550,
  d6AC7,
  d6AG5,
  d6AG7,
  d6AH6,
  d6AK5,
  d6AK6,
  d6AL5,
  d6AN8A,
  d6AQ5,
  d6AQ6,
  d6AS7G,
  d6AT6,
  d6AU6,
  d6AV6,
  d6AW8A,
  d6AX4GT,
  d6BA6,
  d6BA7,
  d6BC5,
  d6BD6,
  d6BE6,
  d6BF6,
  d6BH6,
  d6BJ6,
  d6BK7B,
  d6BQ5,
  d6BQ6GTB,
  d6BQ7A,
  d6BZ7,
  d6C4,
  d6C5,
  d6CB6,
  d6CG7,
  d6CL6,
  d6DJ8,
  d6DK6,
  d6EA8,
  d6F6,
  d6GH8A,
  d6J5,
  d6J6,
  d6J7,
  d6K6GT,
  d6K7,
  d6L6GC,
  d6SA7,
  d6SC7,
  d6SF5,
  d6SG7,
  d6SH7,
  d6SJ7,
  d6SK7,
  d6SL7GT,
  d6SN7GT,
  d6SQ7,
  d6SR7,
  d6T8A,
  d6U8A,
  d6V6GT,
  d6W4GT,
  d6W6GT,
  d6X4,
  d6X5GT,
  d6Y6G,
  d76,
  d807,
  dECC85,
  dECF80,
  dECL82,
  dECL86,
  dEF184,
  dEF80,
  dEF86,
  dEF89,
  dEF91,
  dEL34,
  dEL95,
  dEZ81,
  dKT66,
  dKT88,
];
