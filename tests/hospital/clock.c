/* A hospital's clock for a process that is started with this library preloaded: what it
   reads as the present is worked out from four numbers in a file, which may change under it.
   Durations (the monotonic clocks) stay those of the machine. */
#define _GNU_SOURCE
#include <fcntl.h>
#include <math.h>
#include <stddef.h>
#include <stdlib.h>
#include <sys/mman.h>
#include <sys/syscall.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>

struct face {
    double machine; /* the machine's time at which it shows `shown` */
    double shown;
    double speed;
    double step; /* seconds by which it is wrong */
};

static const struct face *face;

__attribute__((constructor)) static void look_at_it(void) {
    const char *name = getenv("HOSPITAL_CLOCK");
    int file = name ? open(name, O_RDONLY | O_CLOEXEC) : -1;
    if (file < 0) return;
    void *seen = mmap(NULL, sizeof(struct face), PROT_READ, MAP_SHARED, file, 0);
    close(file);
    if (seen != MAP_FAILED) face = seen;
}

int clock_gettime(clockid_t which, struct timespec *when) {
    long failed = syscall(SYS_clock_gettime, which, when);
    if (failed || !face || (which != CLOCK_REALTIME && which != CLOCK_REALTIME_COARSE)) return (int)failed;
    double now = (double)when->tv_sec + (double)when->tv_nsec * 1e-9;
    double shown = face->shown + (now - face->machine) * face->speed + face->step;
    when->tv_sec = (time_t)floor(shown);
    when->tv_nsec = (long)((shown - floor(shown)) * 1e9);
    return 0;
}

int gettimeofday(struct timeval *restrict when, void *restrict zone) {
    struct timespec now;
    (void)zone;
    if (clock_gettime(CLOCK_REALTIME, &now)) return -1;
    when->tv_sec = now.tv_sec;
    when->tv_usec = now.tv_nsec / 1000;
    return 0;
}

time_t time(time_t *when) {
    struct timespec now;
    if (clock_gettime(CLOCK_REALTIME, &now)) return (time_t)-1;
    if (when) *when = now.tv_sec;
    return now.tv_sec;
}
