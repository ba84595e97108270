/** Today as `YYYY-MM-DD`, in local time, or the day of SOURCE_DATE_EPOCH where a build asks for repeatable output (reproducible-builds.org). */
export function today(environment: NodeJS.ProcessEnv = process.env, now = new Date()): string {
  const seconds = environment.SOURCE_DATE_EPOCH;
  if (seconds !== undefined && /^\d{1,12}$/.test(seconds))
    return new Date(Number(seconds) * 1000).toISOString().slice(0, 10);
  const two = (part: number): string => String(part).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
