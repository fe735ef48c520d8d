/* Loaded before the C library: spoils the first write to a journal file. SHIM_MODE says how, SHIM_SHARE how many
   per cent of the bytes go through first. It knows nothing of the program but the ending of the file's name. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static int is_journal(int fd) {
    char link[64], path[4096];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = readlink(link, path, sizeof path - 1);
    if (n < 6) return 0;
    path[n] = 0;
    return !strcmp(path + n - 6, ".jsonl");
}

ssize_t write(int fd, const void *bytes, size_t count) {
    static ssize_t (*real)(int, const void *, size_t);
    static int done;
    if (!real) *(void **)&real = dlsym(RTLD_NEXT, "write");
    const char *mode = getenv("SHIM_MODE"), *share = getenv("SHIM_SHARE");
    if (!mode || done || !is_journal(fd)) return real(fd, bytes, count);
    done = 1;
    size_t part = count * (size_t)(share ? atoi(share) : 50) / 100;
    if (!part) part = 1;
    if (!strcmp(mode, "eintr")) { errno = EINTR; return -1; }
    if (!strcmp(mode, "enospc")) { errno = ENOSPC; return -1; }
    ssize_t wrote = real(fd, bytes, part);
    if (!strcmp(mode, "torn")) { errno = ENOSPC; return -1; }
    if (!strcmp(mode, "tornkill")) _exit(137);
    return wrote;
}
