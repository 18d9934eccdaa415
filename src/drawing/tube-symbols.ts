import type { Electrode } from '../types.ts';
import { box, type Box, type Point, type Segment } from './geometry.ts';
import type { ElectrodeShape, Stroke, SymbolName, SymbolPin, SymbolShape } from './symbols.ts';

/** Tubes: a round envelope about (0, 0), plate at the top, cathode and heater at the bottom, grids dashed between. */

interface ElectrodeDrawn {
  readonly electrode: Electrode | 'suppressor';
  readonly y?: number;
  /** Where its lead goes; plate and cathode have places of their own. */
  readonly side?: Point;
  /** Heights of the grids it is made of, where they are several, joined at the side of the lead. */
  readonly grids?: readonly number[];
}

const CENTRE: Point = [0, 0];
const GRID_REACH = 4.2;
const PLATE_REACH = 2.6;
const CATHODE_REACH = 3;
const HEATER_REACH = 1;
/** Cathode and heater leads leave the bottom this far from the centre. */
const CATHODE_X = 3;
const GRID_JOIN_X = 4.6;

/** The circle as level bands, for boxes that must keep clear of it. */
function bands(radius: number): Box[] {
  // thin enough in the larger envelope that a pin's number has room beside the cathode's lead
  const count = radius > 6 ? 24 : 12;
  return Array.from({ length: count }, (_, i) => {
    const top = -radius + (2 * radius * i) / count;
    const bottom = top + (2 * radius) / count;
    const nearest = top < 0 && bottom > 0 ? 0 : Math.min(Math.abs(top), Math.abs(bottom));
    const half = Math.sqrt(radius ** 2 - nearest ** 2);
    return box(-half, top, half, bottom);
  });
}

/** A tube symbol. `radius` is that of the envelope; pins stand one unit outside it. */
export function tubeShape(
  name: SymbolName,
  radius: number,
  drawn: readonly ElectrodeDrawn[],
): SymbolShape {
  const pinAt = radius + 1;
  const plateY = radius === 6 ? -4 : 1.5 - radius;
  const cathodeY = -plateY;
  const pins: Record<string, SymbolPin> = {};
  const electrodes: Partial<Record<Electrode | 'suppressor', ElectrodeShape>> = {};
  const strokes: (readonly [Stroke, string])[] = [
    [
      'envelope',
      `M0 ${-radius}a${radius} ${radius} 0 1 1 0 ${2 * radius}a${radius} ${radius} 0 1 1 0 ${-2 * radius}Z`,
    ],
  ];
  const leads: Segment[] = [];
  const addPin = (electrode: Electrode | 'suppressor', at: Point, out: Point): void => {
    pins[electrode] = { at, out };
    leads.push({
      from: at,
      to: out[0] === 0 ? [at[0], out[1] * radius] : [out[0] * radius, at[1]],
    });
  };

  for (const { electrode, y = 0, side = CENTRE, grids } of drawn) {
    if (electrode === 'plate') {
      addPin(electrode, [0, -pinAt], [0, -1]);
      electrodes.plate = { y: plateY, reach: PLATE_REACH, pin: electrode };
      strokes.push(
        ['wire', `M0 ${-pinAt}V${plateY}`],
        ['electrode', `M${-PLATE_REACH} ${plateY}H${PLATE_REACH}`],
      );
    } else if (electrode === 'cathode') {
      addPin(electrode, [CATHODE_X, pinAt], [0, 1]);
      electrodes.cathode = { y: cathodeY, reach: CATHODE_REACH, pin: electrode };
      const end = cathodeY + 0.6;
      strokes.push(
        ['wire', `M${CATHODE_X} ${pinAt}V${end}`],
        ['electrode', `M-3 ${end}Q-3 ${cathodeY} -2.4 ${cathodeY}H2.4Q3 ${cathodeY} 3 ${end}`],
      );
    } else {
      const x = side[0];
      // room for the chassis sign of its own that hangs there
      const reach = electrode === 'suppressor' ? pinAt + 1 : pinAt;
      addPin(electrode, [x * reach, y], side);
      const rows = grids ?? [y];
      electrodes[electrode] = { y: rows.at(-1)!, reach: GRID_REACH, pin: electrode };
      for (const row of rows) strokes.push(['grid', `M${-GRID_REACH} ${row}H${GRID_REACH}`]);
      const inner = rows.length > 1 ? GRID_JOIN_X : GRID_REACH;
      strokes.push(['wire', `M${x * reach} ${y}H${x * inner}`]);
      if (rows.length > 1) {
        const [first, last] = [Math.min(...rows), Math.max(...rows)];
        strokes.push([
          'wire',
          `M${x * GRID_REACH} ${first}H${x * inner}V${last}H${x * GRID_REACH}`,
        ]);
      }
    }
  }
  // the heater is drawn and not wired: its circuit is the set's, not the stage's
  const apex = cathodeY + 0.9;
  const foot = radius + 0.9;
  strokes.push([
    'heater',
    `M${-HEATER_REACH} ${foot}V${apex + 1}L0 ${apex}L${HEATER_REACH} ${apex + 1}V${foot}`,
  ]);
  electrodes.heater = { y: apex, reach: 0, pin: 'heater' };
  return {
    name,
    form: 'tube',
    pins,
    strokes,
    dots: [],
    body: [...bands(radius), box(-HEATER_REACH, radius, HEATER_REACH, foot)],
    leads,
    electrodes,
  };
}
