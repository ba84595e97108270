export const TOYS = [];
