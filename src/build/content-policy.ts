import type { Plugin } from 'vite';

/** Nothing from elsewhere, no inline script or style, nothing sent anywhere. WebAssembly needs its own word. */
export const CONTENT_POLICY = [
  "default-src 'none'",
  "script-src 'self' 'wasm-unsafe-eval'",
  "style-src 'self'",
  "img-src 'self' data:",
  "connect-src 'self'",
  "worker-src 'self'",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
].join('; ');

/** What the server says with every answer. `frame-ancestors` has no meaning in a meta tag. */
export const HEADERS: Readonly<Record<string, string>> = {
  'Content-Security-Policy': `${CONTENT_POLICY}; frame-ancestors 'none'`,
  'X-Content-Type-Options': 'nosniff',
  'Referrer-Policy': 'no-referrer',
  'Cross-Origin-Opener-Policy': 'same-origin',
};

/** The same policy as a meta tag, for servers that send no headers of ours. */
export function contentPolicy(): Plugin {
  return {
    name: 'content-policy',
    apply: 'build',
    transformIndexHtml: () => [
      {
        tag: 'meta',
        attrs: { 'http-equiv': 'Content-Security-Policy', content: CONTENT_POLICY },
        injectTo: 'head-prepend',
      },
    ],
  };
}
