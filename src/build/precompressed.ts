import { createHash } from 'node:crypto';
import {
  createReadStream,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import type { IncomingMessage, ServerResponse } from 'node:http';
import { extname, join, normalize, sep } from 'node:path';
import { brotliCompressSync, constants } from 'node:zlib';
import type { Plugin } from 'vite';

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.wasm': 'application/wasm',
  '.svg': 'image/svg+xml',
  '.webmanifest': 'application/manifest+json',
};

/**
 * Writes `name.br` beside every built file and lets the preview server send it. The engine takes seconds to compress
 * well and changes hardly ever, so results are kept by content under `cache`.
 */
export function precompressed(cache: string, headers: Readonly<Record<string, string>>): Plugin {
  let out = '';
  return {
    name: 'precompressed',
    configResolved(config) {
      out = join(config.root, config.build.outDir);
    },
    closeBundle() {
      if (!existsSync(out)) return;
      mkdirSync(cache, { recursive: true });
      for (const file of filesBelow(out)) {
        if (!(extname(file) in TYPES)) continue;
        const body = readFileSync(file);
        const kept = join(cache, createHash('sha256').update(body).digest('hex').slice(0, 32));
        if (!existsSync(kept)) writeFileSync(kept, compress(body));
        writeFileSync(`${file}.br`, readFileSync(kept));
      }
    },
    configurePreviewServer(server) {
      server.middlewares.use((request, response, next) => {
        if (!sendCompressed(out, headers, request, response)) next();
      });
    },
  };
}

function compress(body: Buffer): Buffer {
  return brotliCompressSync(body, {
    params: {
      [constants.BROTLI_PARAM_QUALITY]: 11,
      [constants.BROTLI_PARAM_LGWIN]: 24,
      [constants.BROTLI_PARAM_SIZE_HINT]: body.length,
    },
  });
}

function sendCompressed(
  out: string,
  headers: Readonly<Record<string, string>>,
  request: IncomingMessage,
  response: ServerResponse,
): boolean {
  if (request.method !== 'GET' || !/\bbr\b/.test(String(request.headers['accept-encoding'] ?? '')))
    return false;
  const path = decodeURIComponent(new URL(request.url ?? '/', 'http://local').pathname);
  const file = normalize(join(out, path.endsWith('/') ? `${path}index.html` : path));
  const type = TYPES[extname(file)];
  if (type === undefined || !file.startsWith(out + sep) || !existsSync(`${file}.br`)) return false;
  const lasting = path.includes('/assets/');
  response.writeHead(200, {
    ...headers,
    'Content-Type': type,
    'Content-Encoding': 'br',
    'Content-Length': statSync(`${file}.br`).size,
    'Cache-Control': lasting ? 'public, max-age=31536000, immutable' : 'no-cache',
    Vary: 'Accept-Encoding',
  });
  createReadStream(`${file}.br`).pipe(response);
  return true;
}

function filesBelow(folder: string): string[] {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) =>
    entry.isDirectory() ? filesBelow(join(folder, entry.name)) : [join(folder, entry.name)],
  );
}
