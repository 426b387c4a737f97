/* Prints what the kernel says of its clock: synchronised or unsynchronised (adjtimex(2), STA_UNSYNC). Needs no privilege. */
#include <stdio.h>
#include <sys/timex.h>

int main(void) {
  struct timex clock = {0};
  if (adjtimex(&clock) == -1) {
    perror("adjtimex");
    return 1;
  }
  puts(clock.status & STA_UNSYNC ? "unsynchronised" : "synchronised");
  return 0;
}
