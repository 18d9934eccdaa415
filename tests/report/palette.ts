/** Colours that cannot be taken for each other. */
export const PALETTE = {
  ink: '#111111',
  ink2: '#222222',
  ink3: '#333333',
  rule: '#444444',
  wash: '#555555',
  paper: '#ffffff',
  sans: 'a',
  serif: 'b',
  tiny_px: 11,
};
