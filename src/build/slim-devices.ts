import type { Plugin } from 'vite';

interface DeviceFile {
  readonly units: readonly {
    readonly points: readonly { readonly kind: string }[];
    readonly fit?: { readonly parameters: unknown };
  }[];
}

/**
 * The page needs a type's model, not how it was found: of the published points one of each kind is kept
 * (the first operating point tells a typical cathode current), of the fit only its parameters.
 */
export function slimDevices(): Plugin {
  return {
    name: 'slim-devices',
    apply: 'build',
    enforce: 'pre',
    transform: {
      filter: { id: /\/models\/devices\/[^/]+\.json$/ },
      handler(code) {
        const device = JSON.parse(code) as DeviceFile;
        const units = device.units.map((unit) => ({
          ...unit,
          points: unit.points.filter(
            ({ kind }, i) => i === unit.points.findIndex((point) => point.kind === kind),
          ),
          ...(unit.fit === undefined ? {} : { fit: { parameters: unit.fit.parameters } }),
        }));
        return { code: JSON.stringify({ ...device, units }), map: null };
      },
    },
  };
}
