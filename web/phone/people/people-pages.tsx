/** The pages that stand without a shop's cars: signing in, and who there is. */
import type { PageOf } from "../page-at.ts";
import { PeoplePage } from "./people-page.tsx";
import { SetUpPage } from "./set-up-page.tsx";
import { SettingsPage } from "./settings-page.tsx";
import { SignInPage } from "./sign-in-page.tsx";

export const peoplePages: readonly PageOf[] = [
  ["/settings", () => <SettingsPage />],
  ["/people", () => <PeoplePage />],
  ["/sign-in", () => <SignInPage />],
  ["/set-up", () => <SetUpPage />],
];
