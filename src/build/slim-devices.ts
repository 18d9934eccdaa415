import type { Plugin } from 'vite';

interface DeviceFile {
  readonly units: readonly {
    readonly points: readonly { readonly kind: string }[];
    readonly fit?: { readonly parameters: unknown };
  }[];
}

/** Points that tell a typical operating point; what the model was fitted to stays with the command line. */
const TYPICAL = ['operating', 'conversion'];

/**
 * The page needs a type's model, not how it was found: of the published points only the first typical one is kept, of
 * the fit only its parameters, and of each source that there is one.
 */
export function slimDevices(): Plugin {
  return {
    name: 'slim-devices',
    apply: 'build',
    enforce: 'pre',
    transform: {
      filter: { id: /\/models\/devices\/[^/]+\.json$/ },
      // a string that is parsed is there several times as fast as an object that is compiled
      handler: (code) => ({
        code: `export default JSON.parse(${JSON.stringify(slimDevice(code))});`,
        moduleType: 'js',
        map: null,
      }),
    },
  };
}

/** What is left still reads as a device: a point's note stays, because it excuses what its figures contradict. */
export function slimDevice(text: string): string {
  const device = JSON.parse(text) as DeviceFile;
  const units = device.units.map((unit) => ({
    ...unit,
    points: unit.points.filter(({ kind }) => TYPICAL.includes(kind)).slice(0, 1),
    ...(unit.fit === undefined ? {} : { fit: { parameters: unit.fit.parameters } }),
  }));
  return JSON.stringify({ ...device, units }, (key, value: unknown) =>
    key === 'remarks' ? undefined : key === 'source' ? '-' : value,
  );
}
