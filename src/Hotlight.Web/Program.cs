var builder = WebApplication.CreateBuilder(args);
await builder.Build().RunAsync();
